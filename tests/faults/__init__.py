"""Faults done to a served process and its database: short in ``make test``, long in ``make campaign``.

``WASHLINE_ROUNDS`` above 1 multiplies the rounds. A campaign fails where it did too little to prove anything.
"""
