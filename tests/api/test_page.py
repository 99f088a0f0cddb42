"""The page as it is sent: policy, tags, kinds, and to whom."""

import pytest

from service.api.app import create_app
from service.api.page import FOLDER, files
from service.settings import Settings
from tests.api.conftest import Client


@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/", "text/html"),
        ("/page/page.css", "text/css"),
        ("/page/page.js", "text/javascript"),
        ("/page/index.html", "text/html"),
    ],
)
def test_a_file_is_sent_with_its_kind_its_policy_and_its_tag(client: Client, path: str, kind: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == f"{kind}; charset=utf-8"
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["cache-control"] == "no-cache"
    assert "vary" not in answer.headers
    assert answer.headers["content-security-policy"].split("; ") == [
        "default-src 'none'", "script-src 'self'", "style-src 'self'", "img-src 'self' data:", "connect-src 'self'",
        "form-action 'none'", "base-uri 'none'", "frame-ancestors 'none'",
    ]  # fmt: skip
    again = client.get(path, headers={"If-None-Match": answer.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert client.get(path, headers={"If-None-Match": '"other"'}).status_code == 200


def test_every_file_of_the_folder_is_served_and_nothing_else(client: Client) -> None:
    assert set(files()) == {path.name for path in FOLDER.iterdir()}
    for path in ("/page/", "/page/none.js", "/page/..%2fapi%2fapp.py", "/page/%2e%2e/settings.py"):
        assert client.get(path).status_code == 404


def test_the_page_needs_no_key_where_the_data_does() -> None:
    closed = Client(Settings(demo=False, require_keys=True))
    try:
        assert closed.get("/").status_code == 200
        assert closed.get("/page/page.js").status_code == 200
        assert closed.get("/v1/drinks").status_code == 401
        assert closed.get("/pages").status_code == 401
    finally:
        closed.close()


def test_the_page_stands_in_no_contract() -> None:
    app = create_app(Settings(demo=False))
    assert not [
        path for path in app.openapi()["paths"] if not path.startswith(("/v1", "/livez", "/readyz", "/metrics"))
    ]
