"""Settings by environment, each with the prefix WASHLINE_."""

import ipaddress
from functools import cache
from typing import Annotated, Literal

from pydantic import Field, field_validator
from pydantic_settings import BaseSettings, NoDecode, SettingsConfigDict


class Settings(BaseSettings):
    """What an installation may set; an unknown variable is ignored, a malformed value stops the start."""

    model_config = SettingsConfigDict(env_prefix="WASHLINE_")

    host: Annotated[str, Field(min_length=1, max_length=255)] = "127.0.0.1"
    """Address to listen on."""
    port: Annotated[int, Field(ge=1, le=65535)] = 8000
    """Port to listen on."""
    jurisdictions: Annotated[tuple[str, ...], NoDecode, Field(min_length=1, max_length=60)] = ("EU",)
    """Codes used where a request states none, separated by commas."""
    demo: bool = False
    """Whether the demo bar's items, parts, offers and drinks are loaded."""
    docs: bool = True
    """Whether /docs and /openapi.json are served."""
    database_url: Annotated[str, Field(min_length=1, max_length=1000)] | None = None
    """The store: `sqlite:///FILE` or `postgresql://...`. The command line takes `sqlite:///washline.db` unless given,
    with the demo `sqlite:///washline-demo.db`."""
    workers: Annotated[int, Field(ge=1, le=64)] = 1
    """Processes that serve; each holds the reference and its own kept answers."""
    drain_s: Annotated[float, Field(ge=0, le=10)] = 1.0
    """How long /readyz says that the service is stopping before it takes no more connections."""
    require_keys: bool = False
    """Whether every request needs a key; an address other than the loopback refuses to start without it."""
    requests_per_minute: Annotated[int, Field(ge=1, le=10**9)] = 6000
    """Requests that one key may send in a minute."""
    work_per_minute: Annotated[int, Field(ge=1, le=10**9)] = 60_000
    """Drinks that one key may have computed in a minute."""
    max_import_bytes: Annotated[int, Field(ge=1024, le=64 * 1024 * 1024)] = 10 * 1024 * 1024
    """Largest price list that is read."""
    max_body_bytes: Annotated[int, Field(ge=1024, le=16 * 1024 * 1024)] = 1024 * 1024
    """Largest body that is read."""
    head_timeout_s: Annotated[float, Field(gt=0, le=120)] = 5.0
    """How long the head of a request may take to arrive."""
    body_timeout_s: Annotated[float, Field(gt=0, le=120)] = 10.0
    """How long a body may take to arrive; in a stream of lines, how long the next piece of it may."""
    answer_timeout_s: Annotated[float, Field(gt=0, le=600)] = 5.0
    """How long an answer may take to be made where nothing is written; books and files may take a minute."""
    reader_timeout_s: Annotated[float, Field(gt=0, le=120)] = 10.0
    """How long a reader of a stream of lines may stop reading before its connection is cut."""
    log_level: Literal["critical", "error", "warning", "info", "debug"] = "info"
    """Level of the server's own log."""

    @property
    def on_loopback(self) -> bool:
        """Whether only programs on this machine can reach the service."""
        try:
            return ipaddress.ip_address(self.host).is_loopback
        except ValueError:
            return self.host == "localhost"

    @property
    def stored_at(self) -> str:
        """The URL of the store that the command line works on."""
        return self.database_url or f"sqlite:///{'washline-demo.db' if self.demo else 'washline.db'}"

    @field_validator("jurisdictions", mode="before")
    @classmethod
    def split(cls, value: object) -> object:
        """A comma-separated text as its codes."""
        if isinstance(value, str):
            return tuple(code.strip() for code in value.split(",") if code.strip())
        return value


@cache
def settings() -> Settings:
    """The settings of this process, read once."""
    return Settings()
