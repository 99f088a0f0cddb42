"""The service with its demo, asked without a socket."""

from tests.api.conftest import client, demo_client, nothing_unexpected

__all__ = ["client", "demo_client", "nothing_unexpected"]
