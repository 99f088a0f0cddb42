"""How many examples a property is tried with: 200 and always the same ones in the gate, more in ``make campaign``.

A campaign draws new examples each time; hypothesis prints how to repeat one that fails.
"""

import os

EXAMPLES = int(os.environ.get("WASHLINE_EXAMPLES", "200"))
DERANDOMIZED = "WASHLINE_EXAMPLES" not in os.environ
