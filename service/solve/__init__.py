"""A developer's desk on top of evaluate: scale, compare, substitute, reformulate, make a part. Pure as evaluate is."""
