"""The server held against its own description by schemathesis: whatever is asked, no fault and nothing undeclared.

Bounded and repeatable: a few examples for each address from a fixed seed, once with made-up names in the addresses and
once with the names of things that are there, an instructor logged in, on a school of its own.
"""

from __future__ import annotations

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, seed, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from airwork.web.pages import routers
from web.conftest import Browser, School, build_school

EXAMPLES = 3
CHECKS = [
    not_a_server_error, status_code_conformance, content_type_conformance, response_headers_conformance,
    response_schema_conformance,
]  # fmt: skip
# Would end the session, wear out the log-in's patience, or use up an invitation: tested by themselves.
NOT_HERE = {"/logout", "/login", "/join/{word}"}
# With the names of things that are there these would take the things away from under the other examples.
ONLY_MADE_UP = {"/debriefs/{debrief_id}/remove", "/flights/{flight_id}/take-back", "/people/{person_id}"}


def _operations() -> list[object]:
    """Every operation of the description, as "get /path"; where it takes names, with real ones too."""
    said = [one for router in routers() for one in router.routes if one.include_in_schema and one.path not in NOT_HERE]
    every = sorted(f"{way.lower()} {one.path}" for one in said for way in one.methods)
    named = [one for one in every if "{" in one and one.split(" ")[1] not in ONLY_MADE_UP]
    return [pytest.param(one, False, id=f"{one}-made_up") for one in every] + [
        pytest.param(one, True, id=f"{one}-there") for one in named
    ]


@pytest.fixture(scope="module")
def own_school(tmp_path_factory: pytest.TempPathFactory) -> School:
    """Whatever is done to it, no other test sees it."""
    return build_school(tmp_path_factory.mktemp("openapi"))


@pytest.fixture(scope="module")
def schema(own_school: School):
    return schemathesis.openapi.from_dict(own_school.app.openapi())  # type: ignore[attr-defined]


def _headers(browser: Browser) -> dict[str, str]:
    """What the browser of somebody logged in sends with every request, the form's token in a header."""
    cookie = "; ".join(f"{name}={value}" for name, value in browser.client.cookies.items())
    return {"Cookie": cookie, "Origin": "http://localhost", "X-Airwork-Token": browser.token()}


@pytest.mark.parametrize(("operation", "there"), _operations())
def test_the_server_keeps_to_its_description(own_school: School, schema, operation: str, there: bool) -> None:
    way, path = operation.split(" ")
    ids = {"debrief_id": own_school.debriefs["nora"], "student_id": own_school.nora, "key": "larkmoor_155",
           "flight_id": own_school.flights["nora"], "person_id": own_school.nora,
           "question": "weak", "zoom": 5, "x": 1, "y": 1}  # fmt: skip
    headers = _headers(own_school.as_("Emmett Dray"))
    asked: set[tuple[str, str, str]] = set()
    takes = own_school.app.openapi()["paths"][path][way].get("parameters")
    examples = EXAMPLES if takes or way != "get" else 1  # a page that takes nothing can't be asked otherwise

    @seed(20251125)
    @settings(max_examples=examples, deadline=None, database=None, phases=[Phase.generate],
              suppress_health_check=list(HealthCheck))  # fmt: skip
    @given(case=schema[path][way.upper()].as_strategy())
    def held(case) -> None:
        if there:
            case.path_parameters = {name: ids[name] for name in case.path_parameters}
        question = (case.formatted_path, repr(case.query), repr(case.body))
        if way == "get" and question in asked:
            return  # byte for byte the same
        asked.add(question)
        answer = case.call(base_url="http://localhost", app=own_school.app, headers=headers, allow_redirects=False)
        case.validate_response(answer, checks=CHECKS)

    held()
