"""Keys as they are told, and what the key that asks may do."""

from schemas._base import Output


class KeyView(Output):
    """A key without its secret."""

    id: str
    """In addresses and in the audit trail."""
    prefix: str
    """The public part of its text."""
    name: str
    """Whose it is."""
    scopes: tuple[str, ...]
    """What it may do."""
    venue: str | None
    """The one venue it may ask about."""
    created_at: str
    """When (UTC)."""
    expires_at: str | None
    """From when on it no longer works."""
    revoked_at: str | None
    """Since when it no longer works."""
    last_used_at: str | None
    """About when it was last used."""


class Access(Output):
    """What the key that asks may do."""

    scopes: tuple[str, ...]
    """Its scopes."""
    venue: str | None
    """The one venue it may ask about."""


class KeyMade(KeyView):
    """A new key; its text is shown this once."""

    key: str
    """Send it as `Authorization: Bearer`."""


class KeyList(Output):
    """All keys."""

    keys: tuple[KeyView, ...]
    """In the order of their ids, the ended ones too."""
