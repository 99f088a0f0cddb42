"""The catalogue as it is kept: engine, tables, history, keys. Every query of the service stands in this folder."""
