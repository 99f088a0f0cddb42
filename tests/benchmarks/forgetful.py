"""The service as it serves itself, but with no room for answers that were given: ``python -m tests.benchmarks.forgetful``.

What is measured is then the making of an answer, though bodies come again.
"""

import argparse
import sys

from service import cli
from service.api import answers

if __name__ == "__main__":
    answers.KEPT_BYTES = 0
    sys.exit(cli.serve(argparse.Namespace()))
