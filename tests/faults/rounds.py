"""How often a fault is tried."""

import os

FACTOR = int(os.environ.get("WASHLINE_ROUNDS", "1"))
"""1 in ``make test``, 10 in ``make campaign``."""

LONG = FACTOR >= 10
