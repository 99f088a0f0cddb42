"""Settings by environment: their defaults, their names, and what stops the start."""

import pytest
from pydantic import ValidationError

from schemas.described import described
from service.settings import Settings, settings


@pytest.fixture(autouse=True)
def bare_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    """No setting of the machine reaches a test."""
    for name in Settings.model_fields:
        monkeypatch.delenv(f"WASHLINE_{name.upper()}", raising=False)


def test_the_defaults_are_those_of_the_contract() -> None:
    """Port 8000, EU, 1 MiB a body, 5 s for a head, 10 s for a body."""
    found = Settings()
    assert (found.host, found.port, found.jurisdictions) == ("127.0.0.1", 8000, ("EU",))
    assert (found.max_body_bytes, found.head_timeout_s, found.body_timeout_s) == (1024 * 1024, 5.0, 10.0)
    assert (found.demo, found.docs) == (False, True)


@pytest.mark.parametrize(
    ("name", "text", "value"),
    [
        ("port", "8080", 8080),
        ("host", "0.0.0.0", "0.0.0.0"),
        ("demo", "1", True),
        ("docs", "false", False),
        ("jurisdictions", "GB-SCT, US", ("GB-SCT", "US")),
        ("jurisdictions", "GB", ("GB",)),
        ("body_timeout_s", "0.5", 0.5),
        ("workers", "3", 3),
        ("drain_s", "0", 0.0),
        ("log_level", "debug", "debug"),
    ],
)
def test_a_setting_is_read_from_the_environment(
    monkeypatch: pytest.MonkeyPatch, name: str, text: str, value: object
) -> None:
    monkeypatch.setenv(f"WASHLINE_{name.upper()}", text)
    assert getattr(Settings(), name) == value


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("port", "0"),
        ("port", "65536"),
        ("port", "http"),
        ("port", ""),
        ("host", ""),
        ("demo", "maybe"),
        ("jurisdictions", ""),
        ("jurisdictions", " , "),
        ("max_body_bytes", "0"),
        ("max_body_bytes", "99999999999"),
        ("body_timeout_s", "0"),
        ("body_timeout_s", "nan"),
        ("head_timeout_s", "inf"),
        ("log_level", "loud"),
    ],
)
def test_a_malformed_setting_is_refused_by_its_name(monkeypatch: pytest.MonkeyPatch, name: str, text: str) -> None:
    monkeypatch.setenv(f"WASHLINE_{name.upper()}", text)
    with pytest.raises(ValidationError) as caught:
        Settings()
    assert [error["loc"][0] for error in caught.value.errors()] == [name]


def test_a_variable_without_the_prefix_is_not_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PORT", "9")
    monkeypatch.setenv("HOST", "elsewhere.test")
    assert (Settings().port, Settings().host) == (8000, "127.0.0.1")


def test_the_settings_of_a_process_are_read_once() -> None:
    assert settings() is settings()


def test_every_setting_says_what_it_is() -> None:
    assert set(described(Settings)) == set(Settings.model_fields)


@pytest.mark.parametrize(
    ("host", "expected"),
    [("127.0.0.1", True), ("127.8.0.1", True), ("::1", True), ("localhost", True), ("0.0.0.0", False), ("::", False),
     ("192.0.2.7", False), ("bar.example", False)],
)  # fmt: skip
def test_the_loopback_is_known(host: str, expected: bool) -> None:
    """127.0.0.0/8 and ::1 (RFC 1122, section 3.2.1.3; RFC 4291, section 2.5.3), and its usual name."""
    assert Settings(host=host).on_loopback is expected


def test_the_store_has_a_place_unless_one_is_set() -> None:
    assert Settings().stored_at == "sqlite:///washline.db"
    assert Settings(demo=True).stored_at == "sqlite:///washline-demo.db"
    assert Settings(demo=True, database_url="sqlite:///a.db").stored_at == "sqlite:///a.db"
