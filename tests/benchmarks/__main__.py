"""Prints the goals that are measured: ``python -m tests.benchmarks [GOAL ...] [--rounds N]``."""

import argparse
import platform
import sys
from collections.abc import Callable, Mapping
from dataclasses import replace

from tests.benchmarks import (
    group_year,
    growth,
    importing,
    in_process,
    on_page,
    over_http,
    price_list,
    recosting,
    replicas,
    solving,
    starting,
    stored_answers,
    streaming,
    tail,
    workbook,
)
from tests.benchmarks.measuring import FULL, Result, Size
from tests.benchmarks.printing import lines_of

BENCHES: Mapping[str, Callable[[Size], Result]] = {
    "S1": in_process.result,
    "S2": over_http.result,
    "S3": stored_answers.result,
    "S4": recosting.result,
    "S5": streaming.result,
    "S6": starting.result,
    "S7": tail.result,
    "S8": growth.result,
    "S9": price_list.result,
    "S10": importing.result,
    "S11": solving.result,
    "XLSX": workbook.result,
    "year": group_year.result,
    "PAGE": on_page.result,
    "replicas": replicas.result,
}


def main() -> int:
    """Measures and prints; 1 where a goal is missed."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description="Measures goals as ratios.")
    parser.add_argument("goals", nargs="*", metavar="GOAL", help=f"of {', '.join(BENCHES)}; all unless given")
    parser.add_argument("--rounds", type=int, default=FULL.rounds, help="rounds of each side, 5 or more")
    asked = parser.parse_args()
    unknown = [goal for goal in asked.goals if goal not in BENCHES]
    if unknown or asked.rounds < 5:
        parser.error(f"goals are {', '.join(BENCHES)}; rounds are 5 or more")
    print(f"Python {platform.python_version()}; figures are the median (lowest to highest round)")
    missed = False
    for goal in asked.goals or BENCHES:
        found = BENCHES[goal](replace(FULL, rounds=asked.rounds))
        print("", *lines_of(found), sep="\n", flush=True)
        missed = missed or bool(found.faults) or any(figure.verdict == "MISSED" for figure in found.figures)
    return int(missed)


if __name__ == "__main__":
    sys.exit(main())
