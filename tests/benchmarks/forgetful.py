"""The service as it serves itself, but with no room for kept answers: ``python -m tests.benchmarks.forgetful``.

What is measured is then the making of an answer, though bodies come again.
"""

import argparse

from service import cli
from service.api import kept

if __name__ == "__main__":
    kept.KEPT_BYTES = 0
    cli.serve(argparse.Namespace())
