"""The description of the API: it stands in the documents, and what it says is so."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from schemathesis import GenerationMode
from schemathesis.config import SchemathesisConfig

from houses import NAME, RIG, Home, home, lines, square
from unsown.routes import openapi

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = 12
#: Who may what is tried by test_rights.py, route by route. A shape that is right may still be of
#: no use (422), such as a boundary that crosses itself.
CONFIG = SchemathesisConfig.from_dict(
    {
        "generation": {"with-security-parameters": False},
        "checks": {
            "ignored_auth": {"enabled": False},
            "positive_data_acceptance": {
                "expected-statuses": ["2xx", "403", "404", "409", "422", "429"]
            },
        },
    }
)
ENDLESS = "/api/events"


def test_the_description_in_the_documents_is_the_one_that_is_served(tmp_path: Path) -> None:
    with home(tmp_path, locked=False) as made:
        kept = (ROOT / "docs/reference/openapi.json").read_text(encoding="utf-8")
        assert openapi.text_of(made.app) == kept, "run make docs"
        assert made.client().get("/api/openapi.json").get_json() == openapi.describe(made.app)


@schemathesis.serializer("application/x-ndjson")
def as_lines(_context: Any, value: Any) -> bytes:
    return value if isinstance(value, bytes) else str(value).encode("utf-8", "replace")


class Dressed:
    """The app as a browser at the desk sees it, or a phone where the route is a phone's own."""

    def __init__(self, made: Home) -> None:
        self.app = made.app
        self.dev, token = made.phone("keeper")
        self.token = token["Authorization"]
        self.sessions = made.app.extensions["unsown"].door.sessions
        self.session = ""

    def __call__(self, environ: dict[str, Any], start: Any) -> Iterable[bytes]:
        environ |= {
            "unsown.tls": True,
            "wsgi.url_scheme": "https",
            "HTTP_HOST": NAME,
            "HTTP_ORIGIN": f"https://{NAME}",
            "HTTP_ACCEPT_ENCODING": "identity",
        }
        if not self.sessions.holds(self.session):  # the first, or one that a request ended
            self.session = self.sessions.open()
        if environ["PATH_INFO"].startswith(f"/api/phones/{self.dev}/"):
            environ["HTTP_AUTHORIZATION"] = self.token
        else:
            environ["HTTP_COOKIE"] = f"__Host-unsown={self.session}"
        return self.app(environ, start)


@pytest.fixture(scope="module")
def dressed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Dressed]:
    with home(tmp_path_factory.mktemp("house")) as made:
        out = Dressed(made)
        made.farm.save_paddock(None, square(), None)
        made.farm.save_rig(None, RIG, None)
        made.farm.take_entries(out.dev, 1, lines(out.dev, 1, 30))
        yield out


@pytest.fixture(scope="module")
def api(dressed: Dressed) -> Any:
    return schemathesis.openapi.from_wsgi("/api/openapi.json", dressed, config=CONFIG)


def described() -> list[tuple[str, str, GenerationMode]]:
    said = json.loads((ROOT / "docs/reference/openapi.json").read_text(encoding="utf-8"))
    rows = []
    for path, found in said["paths"].items():
        for method, what in found.items():
            takes = "parameters" in what or "requestBody" in what  # else nothing can be wrong
            modes = list(GenerationMode) if takes else [GenerationMode.POSITIVE]
            rows += [(path, method, mode) for mode in modes if path != ENDLESS]
    return rows


@pytest.mark.parametrize(
    ("path", "method", "mode"), [pytest.param(*row, id=" ".join(row)) for row in described()]
)
def test_made_up_requests_are_answered_as_described(
    api: Any, dressed: Dressed, path: str, method: str, mode: GenerationMode
) -> None:
    operation = api[path][method.upper()]

    @given(case=operation.as_strategy(generation_mode=mode))
    @settings(
        max_examples=EXAMPLES,
        deadline=None,
        derandomize=True,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    def tried(case: Any) -> None:
        if mode is GenerationMode.POSITIVE and "{dev}/" in path:
            case.path_parameters["dev"] = dressed.dev
        case.call_and_validate()

    tried()
