"""What the office calls: its session, the weeks and their download, and theatre lists."""

import re
from typing import Any

from flask import Response, request
from werkzeug.exceptions import UnsupportedMediaType

from server.api import schemas
from server.api.body import StrictBlueprint, authority
from server.clock import now_ms
from server.core.errors import NotAllowed
from server.core.export import shown
from server.core.weekly_readme import CAUTIONS
from server.flows import lists, office_session, week

blueprint = StrictBlueprint("office", __name__, url_prefix="/api/v1/office", description="What the office calls")

Json = dict[str, Any]

COOKIE = "hubheld_office"
_SAFE = ("GET", "HEAD", "OPTIONS")
_FILE_SAFE = re.compile(r"[^A-Za-z0-9_.-]")


@blueprint.before_request
def _from_our_own_page() -> None:
    """Other sites can send no own header without asking first, and nothing here ever says yes."""
    if request.method not in _SAFE and request.headers.get("X-Hubheld") != "1":
        raise NotAllowed("send the header X-Hubheld: 1")


def _unit() -> str:
    return office_session.unit_of(request.cookies.get(COOKIE), now_ms())


@blueprint.post("/session")
@blueprint.arguments(schemas.OfficeSessionRequest)
@blueprint.response(201, schemas.OfficeSession)
def open_session(sent: Json) -> tuple[Json, int, dict[str, str]]:
    """Open the office with its passphrase."""
    token = office_session.open_office(sent["unit"], sent["passphrase"], now_ms())
    secure = "; Secure" if request.is_secure else ""
    cookie = f"{COOKIE}={token}; Path=/api/v1/office; HttpOnly; SameSite=Strict{secure}"
    return {"unit": sent["unit"], "name": office_session.name_of(sent["unit"])}, 201, {"Set-Cookie": cookie}


@blueprint.get("/session")
@blueprint.response(200, schemas.OfficeSession)
def read_session() -> Json:
    """Say whose office is open."""
    unit = _unit()
    return {"unit": unit, "name": office_session.name_of(unit)}


@blueprint.delete("/session")
@blueprint.response(204)
def close_session() -> tuple[str, int, dict[str, str]]:
    """Close the office."""
    _unit()
    office_session.close_office(request.cookies[COOKIE])
    return "", 204, {"Set-Cookie": f"{COOKIE}=; Path=/api/v1/office; Max-Age=0; HttpOnly; SameSite=Strict"}


@blueprint.get("/weeks")
@blueprint.response(200, schemas.Weeks)
def list_weeks() -> Json:
    """The weeks that have cases."""
    return {"weeks": week.weeks(_unit())}


@blueprint.get("/weeks/<string:name>")
@blueprint.response(200, schemas.Week)
def read_week(name: str) -> Json:
    """The counts and quality figures of one week."""
    found = week.report(authority(), _unit(), name)
    rows = [
        {
            "step": row.step,
            "kind": row.kind,
            "grade": row.grade,
            "events": row.events,
            "cases_with": row.cases_with,
            "chances": row.chances,
            "caught": row.caught,
            "rate_per_100": shown(row.rate_per_100),
            "ci95_low": shown(row.interval[0]),
            "ci95_high": shown(row.interval[1]),
        }
        for row in found.rows
    ]
    quality = {
        key: value if value is None or isinstance(value, int) else shown(value) for key, value in found.quality.items()
    }
    answer = {"unit": found.unit, "week": found.week, "protocol": found.protocol, "cautions": CAUTIONS}
    return {**answer, "quality": quality, "rows": rows}


@blueprint.get("/weeks/<string:name>/download")
@blueprint.response(200, content_type="application/zip")
def download_week(name: str) -> Response:
    """The files of one week as a zip, whole before the first byte leaves."""
    found = week.report(authority(), _unit(), name)
    response = Response(week.zipped(found), mimetype="application/zip")
    file_name = _FILE_SAFE.sub("", f"week_{found.unit}_{found.week}_INTERNAL.zip")
    response.headers["Content-Disposition"] = f'attachment; filename="{file_name}"'
    return response


@blueprint.post("/lists")
@blueprint.response(201, schemas.ImportedLists)
def import_list() -> Json:
    """Import theatre lists from CSV: the whole file or none of it."""
    unit = _unit()
    if request.mimetype != "text/csv":
        raise UnsupportedMediaType("send the list as text/csv")
    return {"lists": lists.import_lists(authority(), unit, request.get_data(), now_ms())}


@blueprint.get("/lists/<string:day>")
@blueprint.response(200, schemas.TheatreLists)
def read_lists(day: str) -> Json:
    """The theatre lists of one day, as they were last imported."""
    return {"lists": lists.lists_of(_unit(), day, day)}
