"""Every dependency is locked by version and hash, and no file names a registry, a machine or another host."""

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
LOCKS = {
    "lock-serve.txt": PROJECT["dependencies"],
    "lock-test.txt": [*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["test"]],
}
PIN = re.compile(r"(?P<name>[a-z0-9]+(?:-[a-z0-9]+)*)==(?P<version>[0-9][0-9a-z.+!]*)(?: ; (?P<marker>[^\n]+?))?")
HASH = re.compile(r"    --hash=sha256:[0-9a-f]{64}")

REGISTRY = re.compile(r"\b(?:pypi|pythonhosted|anaconda|npmjs|artifactory)\b[\w-]*\.\w+|--(?:extra-)?index-url")
ADDRESS = re.compile(r"https?://(?P<host>[A-Za-z0-9.-]+)")
OWN_HOST = re.compile(r"localhost|127\.0\.0\.1|192\.0\.2\.1|(?:[a-z-]+\.)+(?:test|example|invalid)")
"""This machine, and names that are reserved for tests and examples (RFC 2606, RFC 5737)."""
NAMESPACES = re.compile(r"www\.w3\.org|schema\.org|ref\.gs1\.org")
"""Names of open standards' vocabularies and formats, which are written and never asked."""
PLACE = re.compile(r"(?<![\w.])(?:/(?:home|Users|root|work|tmp|mnt|opt)/\w|[A-Z]:\\)|\.\./shared")


def _entries(text: str) -> Iterator[list[str]]:
    """Each pin with its hashes, one text a line, without the backslashes that join them."""
    for entry in re.split(r"\n(?! )", text.strip()):
        yield [line.removesuffix(" \\") for line in entry.split("\n")]


def _name(requirement: str) -> str:
    """The normal form of a requirement's name (PEP 503), without its extras and bounds."""
    found = re.match(r"[A-Za-z0-9._-]+", requirement)
    assert found
    return re.sub(r"[-_.]+", "-", found[0]).lower()


@pytest.mark.parametrize("lock", LOCKS)
def test_every_dependency_is_pinned_with_its_hashes(lock: str) -> None:
    pinned = set()
    for pin, *hashes in _entries((ROOT / ".ci" / lock).read_text(encoding="utf-8")):
        found = PIN.fullmatch(pin)
        assert found, pin
        assert hashes, pin
        assert all(HASH.fullmatch(line) for line in hashes), pin
        pinned.add(found["name"])
    assert {_name(requirement) for requirement in LOCKS[lock]} <= pinned


def test_what_serves_is_tested_in_the_same_version() -> None:
    serve, test = (
        {entry[0] for entry in _entries((ROOT / ".ci" / lock).read_text(encoding="utf-8"))} for lock in LOCKS
    )
    assert serve <= test


def _texts() -> Iterator[tuple[str, str]]:
    """Name and text of every file of the project but this one, which has to name what it looks for, and the licence."""
    made = {"__pycache__", "build", "dist"}
    for path in sorted(ROOT.rglob("*")):
        *folders, name = path.relative_to(ROOT).parts
        hidden = any(folder in made or (folder.startswith(".") and folder != ".ci") for folder in folders)
        if (
            not hidden
            and path.is_file()
            and path != Path(__file__)
            and name != "LICENSE"
            and ".db" not in path.suffixes
            and path.suffix != ".png"
        ):
            yield "/".join((*folders, name)), path.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def texts() -> dict[str, str]:
    """The texts of the project by name."""
    found = dict(_texts())
    assert {"README.md", ".ci/lock-test.txt", "service/cli.py", "openapi-examples/openapi.json"} <= set(found)
    return found


def test_no_file_names_the_host_of_a_registry(texts: dict[str, str]) -> None:
    assert {name: found[0] for name, text in texts.items() if (found := REGISTRY.search(text))} == {}


def test_no_file_writes_an_address_of_another_host(texts: dict[str, str]) -> None:
    found = {(name, address["host"]) for name, text in texts.items() for address in ADDRESS.finditer(text)}
    assert {
        (name, host) for name, host in found if not (OWN_HOST.fullmatch(host) or NAMESPACES.fullmatch(host))
    } == set()


def test_no_file_holds_a_path_of_one_machine(texts: dict[str, str]) -> None:
    assert {name: found[0] for name, text in texts.items() if (found := PLACE.search(text))} == {}


@pytest.mark.parametrize(
    ("pattern", "text"),
    [
        (REGISTRY, "files." + "python" + "hosted.org"),
        (REGISTRY, "--index-url x"),
        (ADDRESS, "see https:" + "//a.b/c"),
        (PLACE, 'open("/home/someone/x")'),
        (PLACE, "C:\\Users"),
        (PLACE, "../shared/data"),
    ],
)
def test_what_is_looked_for_would_be_found(pattern: re.Pattern[str], text: str) -> None:
    assert pattern.search(text)
