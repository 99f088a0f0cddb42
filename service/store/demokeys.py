"""The three keys of the demo, known to everyone: they exist on the loopback with the demo and end anywhere else."""

from typing import Final, NamedTuple

from sqlalchemy import select

from service.store.keys import all_keys, key_of_prefix, new_key, revoke
from service.store.store import Store
from service.store.tables import KEYS


class DemoKey(NamedTuple):
    """One of them."""

    name: str
    prefix: str
    secret: str
    scopes: tuple[str, ...]

    @property
    def text(self) -> str:
        """What is sent after ``Authorization: Bearer``."""
        return f"wl_{self.prefix}_{self.secret}"


DEMO_KEYS: Final = (
    DemoKey("Till", "de0000000001", "demo-till".ljust(43, "-"), ("costs:read",)),
    DemoKey("Menu designer", "de0000000002", "demo-menu-designer".ljust(43, "-"), ("labels:read",)),
    DemoKey("Accountant", "de0000000003", "demo-accountant".ljust(43, "-"), ("costs:read", "margins:read")),
)


def settle_demo_keys(store: Store, *, wanted: bool) -> None:
    """Makes the demo's keys, or ends those that are left from a demo: a secret that is printed is none."""
    prefixes = [key.prefix for key in DEMO_KEYS]
    query = select(KEYS.c.prefix, KEYS.c.revoked_at).where(KEYS.c.prefix.in_(prefixes))
    with store.reading() as connection:
        held = {row.prefix: row.revoked_at for row in connection.execute(query)}
    if len(held) == len(prefixes) if wanted else all(held.values()):
        return
    with store.writing() as connection:
        if wanted:
            for key in DEMO_KEYS:
                if key_of_prefix(connection, key.prefix) is None:
                    new_key(connection, key.name, key.scopes, None, None, key.secret, key.prefix, f"demo-{key.prefix}")
            return
        for one in all_keys(connection):
            if one.prefix in prefixes and one.revoked_at is None:
                revoke(connection, one.id)
