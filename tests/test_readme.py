"""The README's requests are run as they stand, against a served demo, and print what the README says they print."""

import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.api.served import served

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
CHECKED = re.compile(r"<!-- check: (\w+) -->\n```\n(.*?)\n```\n```\n(.*?)\n```", re.DOTALL)

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
    script = command.replace("localhost:8000", f"127.0.0.1:{port}")
    done = subprocess.run(
        [bash, "-c", script], capture_output=True, text=True, env=environment, timeout=60, check=False
    )
    assert done.stdout.strip() == printed.strip(), f"{name}: {done.stderr}"


def test_the_readme_has_the_three_requests() -> None:
    assert [name for name, _, _ in CHECKED.findall(README)] == ["demo", "own", "physics"]
