"""The README's requests are run as they stand, against a served demo, and print what the README says they print."""

import re
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from service.reference import reference
from service.store.demokeys import DEMO_KEYS
from tests.api.served import served
from tests.physics.test_published import CASES, density

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
CHECKED = re.compile(r"<!-- check: (\w+) -->\n```\n(.*?)\n```\n```\n(.*?)\n```", re.DOTALL)

INTERPRETER = ".venv-serve/bin/python"
"""What the README calls; the tests run in an environment of their own."""

CURL = """#!{python}
import sys, urllib.request
words, data, headers, url = sys.argv[1:], None, {{}}, ""
while words:
    word = words.pop(0)
    if word == "-H":
        name, _, value = words.pop(0).partition(":")
        headers[name] = value.strip()
    elif word == "-d":
        data = words.pop(0)
        data = sys.stdin.buffer.read() if data == "@-" else data.encode()
    elif word != "-s":
        url = word if "://" in word else "http://" + word
sys.stdout.buffer.write(urllib.request.urlopen(urllib.request.Request(url, data, headers)).read())
"""
"""What the README uses of curl, for a machine that has python3 and make and nothing else."""


@pytest.fixture(scope="module")
def port() -> Iterator[int]:
    """A service with the demo on a free port."""
    with served(demo="1") as place:
        yield place.port


@pytest.mark.parametrize(("name", "command", "printed"), CHECKED.findall(README), ids=lambda text: text[:12])
def test_a_request_prints_what_the_readme_says(
    name: str, command: str, printed: str, port: int, tmp_path: Path
) -> None:
    shim = tmp_path / "curl"
    shim.write_text(CURL.format(python=sys.executable), encoding="utf-8")
    shim.chmod(0o755)
    bash = shutil.which("bash") or "/bin/sh"
    environment = {"PATH": f"{tmp_path}:/usr/bin:/bin:{Path(sys.executable).parent}", "LC_ALL": "C.UTF-8"}
    script = command.replace("localhost:8000", f"127.0.0.1:{port}").replace(INTERPRETER, sys.executable)
    done = subprocess.run(
        [bash, "-c", script], cwd=ROOT, capture_output=True, text=True, env=environment, timeout=60, check=False
    )
    assert _unpadded(done.stdout) == _unpadded(printed), f"{name}: {done.stderr}"


def _unpadded(text: str) -> list[str]:
    return [line.rstrip() for line in text.strip().splitlines()]


def test_the_readme_has_the_three_requests_and_the_command_line() -> None:
    named = ["demo", "own", "physics", "till", "list", "swap", "table", "csv", "search"]
    assert [name for name, _, _ in CHECKED.findall(README)] == named


def test_every_command_of_the_readme_is_checked_or_sets_up() -> None:
    blocks = re.findall(r"^```\n(.*?)\n```$", README, re.DOTALL | re.MULTILINE)
    checked = {text for _, command, printed in CHECKED.findall(README) for text in (command, printed)}
    assert [block for block in blocks if block not in checked] == ["make serve\nmake test"]


def test_the_interpreter_of_the_readme_is_the_one_that_make_serve_sets_up() -> None:
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    folder, _, rest = INTERPRETER.partition("/")
    assert f"SERVE_VENV := {folder}\n" in makefile
    assert f"$(SERVE_VENV)/{rest} -m service serve" in makefile


def _claimed(pattern: str) -> tuple[str, ...]:
    found = re.search(pattern, README)
    assert found, pattern
    return found.groups()


def test_the_readme_counts_the_items_right() -> None:
    (count,) = _claimed(r"Each of more than (\d+) generic items")
    assert int(count) < len(reference().items) < int(count) + 100


def test_the_readme_names_the_versions_of_python_right() -> None:
    low, high = _claimed(r"`python3` \(3\.(\d+) to 3\.(\d+)\)")
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["requires-python"] == f">=3.{low},<3.{int(high) + 1}"


def test_the_readme_says_how_far_density_was_checked() -> None:
    close, points, wide, older = _claimed(
        r"within ([\d.]+) kg/m3 of (\d+) points of its published table "
        r"and within ([\d.]+) kg/m3 of (\d+) points of older handbooks"
    )
    rows = [case for case in CASES if case["topic"] == "density" and case["kind"] == "published"]
    own = [case for case in rows if case["source"].startswith("OIML")]
    assert (len(own), len(rows) - len(own)) == (int(points), int(older))
    assert all(abs(density(case["inputs"]) - case["expected"]) <= float(close) for case in own)
    assert all(abs(density(case["inputs"]) - case["expected"]) <= float(wide) for case in rows)


def test_what_the_readme_says_of_syrup_is_a_published_case() -> None:
    brix, density_g_per_ml, sugars_g_per_l = _claimed(r"1:1 by mass is ([\d.]+) Brix, ([\d.]+) g/ml, ([\d.]+) g/l")
    cases = tomllib.loads((ROOT / "tests" / "cases" / "preparations.toml").read_text(encoding="utf-8"))["case"]
    expected = next(case["expected"] for case in cases if case["expected"].get("brix") == float(brix))
    assert float(density_g_per_ml) == pytest.approx(expected["density_g_per_ml"], abs=6e-5)  # four decimals of five
    assert float(sugars_g_per_l) == expected["sugars_g_per_l"]


def test_the_readme_shows_the_demo_keys_as_they_are() -> None:
    assert re.findall(r"`(wl_[^`]+)`", README) == [key.text for key in DEMO_KEYS]
