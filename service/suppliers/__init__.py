"""Price lists of suppliers: read in the format they come in, matched, compared, and nothing written.

One file per format gives a :class:`service.suppliers.rows.Table`; ``price_list.py`` is the straight line from the bytes
to what each row would change. Nothing here knows a database, a clock or HTTP.
"""
