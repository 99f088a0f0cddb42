"""The command line: evaluate, reference, serve; what goes to which stream, and with which exit code."""

import json
import os
import signal
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from schemas.answer import Answer
from tests.api.bodies import full, raw, small
from tests.api.served import ROOT, Served, answers, everything, free_port, one_answer, served


def _run(
    *arguments: str, stdin: bytes = b"", settings: Mapping[str, str] | None = None
) -> subprocess.CompletedProcess[bytes]:
    kept = {name: value for name, value in os.environ.items() if not name.startswith("WASHLINE_")}
    command = [sys.executable, "-m", "service", *arguments]
    return subprocess.run(
        command, input=stdin, capture_output=True, check=False, cwd=ROOT, timeout=60, env=kept | dict(settings or {})
    )


def _file(folder: Path, body: Any) -> str:
    path = folder / "drink.json"
    path.write_bytes(body if isinstance(body, bytes) else raw(body))
    return str(path)


def test_evaluate_prints_a_table(tmp_path: Path) -> None:
    done = _run("evaluate", _file(tmp_path, full()))
    assert (done.returncode, done.stderr) == (0, b"")
    text = done.stdout.decode()
    for words in (
        "Quay Sour, one serve of 2",
        "Cost, EUR",
        "Price, EUR",
        "Alcohol",
        "Allergens",
        "Nutrition",
        "Balance",
        "not known",
    ):
        assert words in text
    assert "local codes and licensed practice" in text
    assert max(len(line) for line in text.splitlines()[:20]) <= 80


def test_evaluate_prints_the_whole_answer_as_json(tmp_path: Path) -> None:
    done = _run("evaluate", _file(tmp_path, small()), "--json")
    assert done.returncode == 0
    Answer.model_validate_json(done.stdout)
    assert json.loads(done.stdout)["drink"]["id"] == "dock-light"


@pytest.mark.parametrize(
    ("shape", "begins"), [("html", "<!DOCTYPE html>"), ("svg", "<?xml"), ("json-ld", "{"), ("csv", "drink_id,")]
)
def test_evaluate_prints_one_of_the_outputs(shape: str, begins: str, tmp_path: Path) -> None:
    done = _run("evaluate", _file(tmp_path, small()), "--as", shape)
    assert (done.returncode, done.stderr) == (0, b"")
    text = done.stdout.decode()
    assert text.startswith(begins) and "Dock Light" in text


def test_evaluate_takes_one_output_at_a_time(tmp_path: Path) -> None:
    done = _run("evaluate", _file(tmp_path, small()), "--as", "svg", "--json")
    assert done.returncode == 2 and b"not allowed with" in done.stderr


def test_evaluate_reads_standard_input() -> None:
    done = _run("evaluate", "-", "--json", stdin=raw(small()))
    assert done.returncode == 0
    assert json.loads(done.stdout)["drink"]["id"] == "dock-light"


def test_evaluate_shows_only_what_was_asked_for(tmp_path: Path) -> None:
    done = _run("evaluate", _file(tmp_path, small() | {"include": ["balance"]}))
    assert done.returncode == 0
    assert b"Balance" in done.stdout
    assert b"Cost" not in done.stdout


def test_evaluate_takes_its_jurisdictions_from_the_environment(tmp_path: Path) -> None:
    done = _run("evaluate", _file(tmp_path, small()), "--json", settings={"WASHLINE_JURISDICTIONS": "GB-SCT,US"})
    rows = json.loads(done.stdout)["allergens"]["declarations"]
    assert [row["jurisdiction"] for row in rows] == ["GB-SCT", "US"]


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (b"{", "The body is not JSON (RFC 8259)"),
        (b"", "The body is not JSON (RFC 8259)"),
        (raw(small()).replace(b"10 ml", b"1 shot"), "/drink/lines/0/amount: "),
        (raw(small()).replace(b'"water"', b'"lime-juic"'), "nearest: lime-juice"),
        (b"[]", "(the whole body): Expected an object. [wrong_type]"),
    ],
)
def test_a_body_that_cannot_be_worked_with_is_told_on_standard_error(tmp_path: Path, body: bytes, words: str) -> None:
    done = _run("evaluate", _file(tmp_path, body))
    assert (done.returncode, done.stdout) == (1, b"")
    assert words in done.stderr.decode()
    assert "Traceback" not in done.stderr.decode()


def test_a_file_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    for path in (tmp_path / "none.json", tmp_path):
        done = _run("evaluate", str(path))
        assert (done.returncode, done.stdout) == (2, b"")
        assert done.stderr.startswith(b"Cannot read the file: ")


def test_reference_finds_items() -> None:
    done = _run("reference", "lime", "ju")
    assert done.returncode == 0
    assert [line.split()[0] for line in done.stdout.decode().splitlines()] == [
        "lime-cordial",
        "lime-juice",
        "lime-juice-bottled",
    ]
    spirits = _run("reference", "rum", "--kind", "spirit").stdout.decode().splitlines()
    assert spirits
    assert all(" spirit " in line for line in spirits)


def test_reference_says_that_nothing_fits() -> None:
    done = _run("reference", "nothinglikethis")
    assert (done.returncode, done.stdout) == (1, b"")
    assert b"Nothing in the embedded reference fits." in done.stderr


@pytest.mark.parametrize(("option", "value"), [("--kind", "vodka"), ("--allergen", "Milk")])
def test_reference_refuses_a_condition_that_is_none(option: str, value: str) -> None:
    done = _run("reference", "rum", option, value)
    assert (done.returncode, done.stdout) == (2, b"")
    assert b"spirit" in done.stderr or b"milk" in done.stderr


def test_without_a_command_the_help_is_shown() -> None:
    done = _run()
    for command in (b"serve", b"evaluate", b"reference"):
        assert command in done.stdout + done.stderr


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("WASHLINE_PORT", "http", "WASHLINE_PORT: "),
        ("WASHLINE_PORT", "0", "WASHLINE_PORT: "),
        (
            "WASHLINE_JURISDICTIONS",
            "EU,UK",
            "WASHLINE_JURISDICTIONS: Give EU or an ISO 3166 code that is held; nearest: GB",
        ),
        ("WASHLINE_JURISDICTIONS", "", "WASHLINE_JURISDICTIONS: "),
        ("WASHLINE_LOG_LEVEL", "loud", "WASHLINE_LOG_LEVEL: "),
    ],
)
@pytest.mark.parametrize("command", [("serve",), ("evaluate", "-")])
def test_a_setting_that_cannot_be_worked_with_stops_the_start(
    command: tuple[str, ...], name: str, value: str, words: str
) -> None:
    done = _run(*command, settings={name: value})
    assert (done.returncode, done.stdout) == (1, b"")
    assert done.stderr.decode().startswith("Cannot start: " + words)
    assert "Traceback" not in done.stderr.decode()


def test_serve_listens_on_its_port_and_stops_on_sigterm_with_success() -> None:
    """Exit code 0: an orderly stop is no failure to a supervisor."""
    for number in (signal.SIGTERM, signal.SIGINT):
        with served() as running:
            assert _lives(running)
            running.process.send_signal(number)
            _, errors = running.process.communicate(timeout=15)
            assert running.process.returncode == 0
            assert b"Traceback" not in errors


def test_a_request_that_has_begun_is_answered_before_the_stop() -> None:
    with served() as running, running.connected() as connection:
        body = raw(small())
        head = (
            b"POST /v1/evaluate HTTP/1.1\r\nHost: a\r\nContent-Type: application/json\r\nContent-Length: %d\r\n\r\n"
            % len(body)
        )
        connection.sendall(head + body[:20])
        assert _lives(running)
        running.process.send_signal(signal.SIGTERM)
        connection.sendall(body[20:])
        assert [answer.status for answer in answers(everything(connection))] == [200]
        running.process.communicate(timeout=15)
        assert running.process.returncode == 0


def test_a_port_that_is_taken_is_told(tmp_path: Path) -> None:
    with served() as running:
        elsewhere = {"WASHLINE_DATABASE_URL": f"sqlite:///{tmp_path}/other.db"}
        done = _run("serve", settings={"WASHLINE_PORT": str(running.port)} | elsewhere)
    assert done.returncode != 0
    assert b"address already in use" in done.stderr
    assert b"Traceback" not in done.stderr


def test_serve_with_the_demo_answers_its_drinks() -> None:
    with served(demo="1") as running, running.connected() as connection:
        connection.sendall(b"GET /v1/demo/drinks HTTP/1.1\r\nHost: a\r\n\r\n")
        assert len(json.loads(one_answer(connection).body)["drinks"]) >= 13


def _lives(running: Served) -> bool:
    with running.connected() as connection:
        connection.sendall(b"GET /livez HTTP/1.1\r\nHost: a\r\n\r\n")
        return one_answer(connection).status == 200


def test_a_free_port_is_one() -> None:
    assert 1024 <= free_port() <= 65535
