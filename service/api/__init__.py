"""The HTTP roof: routes, problems, limits. It computes nothing."""
