"""S10: what the calculation without HTTP costs to import, in fresh processes."""

import json
import subprocess
import sys
import tomllib
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from tests.benchmarks.measuring import Figure, Result, Side, Size, in_turns, spread

ROOT = Path(__file__).parents[2]
MOST_SECONDS = 0.25

NOT_IN_THE_CORE = (
    "fastapi", "starlette", "uvicorn", "httpx", "httptools", "sqlalchemy", "sqlite3", "psycopg", "alembic", "scipy",
    "numpy", "pint", "pydantic",
)  # fmt: skip
"""Modules of the web, of a store, of schemas and of heavy arithmetic, none of which the pure core may load."""

NOT_IN_EVALUATE = tuple(name for name in NOT_IN_THE_CORE if name != "pydantic")
"""``service.evaluate`` takes the contract's models, so it loads the library that they are made of."""

_SCRIPT = """
import sys, time
before = time.perf_counter()
{statement}
seconds = time.perf_counter() - before
import json
print(json.dumps({{"seconds": seconds, "modules": sorted({{name.partition(".")[0] for name in sys.modules}})}}))
"""


@dataclass(slots=True)
class Imported:
    """One import statement, run again and again in a process of its own."""

    statement: str
    modules: set[str] = field(default_factory=set)

    def seconds(self) -> float:
        """How long it takes in a fresh process, the interpreter's own start left out."""
        command = [sys.executable, "-c", _SCRIPT.format(statement=self.statement)]
        done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True, timeout=60)
        found = json.loads(done.stdout)
        self.modules.update(found["modules"])
        return float(found["seconds"])


def core_modules() -> list[str]:
    """The modules of the pure core: those that the import contract of the project keeps free of schemas and the web."""
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["importlinter"]["contracts"]
    found = [row["source_modules"] for row in contracts if "pydantic" in row.get("forbidden_modules", ())]
    assert len(found) == 1, "one import contract names the modules that know no pydantic"
    return list(found[0])


def result(size: Size) -> Result:
    """S10."""
    sides = {
        "floor": Imported("import decimal, json, tomllib"),
        "core": Imported("import " + ", ".join(core_modules())),
        "pydantic": Imported("from pydantic import BaseModel, Field, model_validator"),
        "evaluate": Imported("import service.evaluate"),
    }
    calls: dict[str, Callable[[], float]] = {name: side.seconds for name, side in sides.items()}
    found = in_turns(calls, size.rounds)
    under = Side(sides["floor"].statement, found["floor"], "ms", 1e3)
    core = sides["core"].modules.intersection(NOT_IN_THE_CORE)
    whole = sides["evaluate"].modules.intersection(NOT_IN_EVALUATE)
    loads = {"the core": core, "service.evaluate": whole}
    faults = [f"{what} loads {', '.join(sorted(names))}" for what, names in loads.items() if names]
    seconds = spread(found["core"])
    if seconds.median > MOST_SECONDS:
        faults.append(f"the core takes {seconds.median:.3f} s, aim {MOST_SECONDS} s")
    loaded = ", ".join(sorted({"babel", "stdnum"} & sides["core"].modules)) or "none"
    more = spread([whole - library for whole, library in zip(found["evaluate"], found["pydantic"], strict=True)], 1e3)
    return Result(
        "S10",
        "Import of the pure core in a fresh process",
        (
            f"core:  the {len(core_modules())} modules that the import contract keeps free of pydantic and the web",
            f"goal:  none of {', '.join(NOT_IN_THE_CORE)}; aim also {MOST_SECONDS} s",
        ),
        (
            Figure("import of the core", Side("the core", found["core"], "ms", 1e3), under),
            Figure("import of service.evaluate", Side("with the schemas", found["evaluate"], "ms", 1e3), under),
        ),
        (
            f"the core takes {seconds.median:.3f} s; third-party modules it loads: {loaded}",
            f"service.evaluate less pydantic alone: {more.median:.0f} ms ({more.low:.0f} to {more.high:.0f})",
        ),
        tuple(faults),
    )
