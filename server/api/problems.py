"""Every error as problem+json (RFC 9457): the one table from errors to status and type, and its documentation."""

from http import HTTPStatus
from typing import Any

from flask import Flask, Response, current_app, json
from flask_smorest import Api
from marshmallow import Schema, fields
from werkzeug.exceptions import HTTPException

from server.core.errors import (
    Fork,
    HubheldError,
    InvalidInput,
    NotAllowed,
    OutOfStep,
    RefusedEntry,
    RetryLater,
    TamperedRecord,
    TooManyTries,
)
from server.core.theatre_list import BadList

PROBLEM_TYPE = "application/problem+json"
_RETRY_AFTER_S = "5"

# Most telling first: the first class that fits decides.
_TABLE: tuple[tuple[type[HubheldError], int, str, str], ...] = (
    (BadList, 422, "list-refused", "The theatre list was not taken; nothing of it was kept"),
    (Fork, 409, "log-fork", "This log has two histories; both are kept as evidence"),
    (OutOfStep, 409, "log-gap", "The log held here is shorter; send from n"),
    (RefusedEntry, 422, "entry-refused", "An entry does not fit; nothing was appended"),
    (TamperedRecord, 422, "does-not-fit", "A signature does not fit; nothing was appended"),
    (InvalidInput, 422, "invalid-input", "What was sent cannot be used"),
    (TooManyTries, 429, "too-many-tries", "Too many wrong tries"),
    (NotAllowed, 403, "not-allowed", "Not allowed"),
    (RetryLater, 503, "retry-later", "Cannot be taken now; the same may be sent again"),
)


class Problem(Schema):
    """A problem as RFC 9457 has it."""

    type = fields.String(required=True)
    title = fields.String(required=True)
    status = fields.Integer(required=True)
    detail = fields.String()
    n = fields.Integer(metadata={"description": "entries held, where two logs do not meet"})
    seq = fields.Integer(metadata={"description": "the entry that was refused"})
    errors = fields.Raw(metadata={"description": "every bad place: line, column, found and expected, or by field"})


class ProblemApi(Api):
    """flask-smorest with RFC 9457 errors, both sent and documented."""

    ERROR_SCHEMA = Problem
    DEFAULT_RESPONSE_CONTENT_TYPE: str

    def handle_http_exception(self, error: HTTPException) -> Response:
        """A problem for every error that the framework raises, 404 and 405 included."""
        data: dict[str, Any] = getattr(error, "data", None) or {}
        status = error.code or HTTPStatus.INTERNAL_SERVER_ERROR
        members = {"detail": data.get("message") or error.description}
        errors = data.get("messages") or data.get("errors")
        if errors:
            members["errors"] = errors
        response = problem(status, "about:blank", error.name, members)
        valid_methods = getattr(error, "valid_methods", None)
        if valid_methods:
            response.headers["Allow"] = ", ".join(valid_methods)
        return response

    def _register_responses(self) -> None:
        """Documents errors under their own media type: the one private name of the library used here."""
        kept, self.DEFAULT_RESPONSE_CONTENT_TYPE = self.DEFAULT_RESPONSE_CONTENT_TYPE, PROBLEM_TYPE
        try:
            super()._register_responses()
        finally:
            self.DEFAULT_RESPONSE_CONTENT_TYPE = kept


def problem(status: int, kind: str, title: str, members: dict[str, Any]) -> Response:
    """One problem as a response; members without a value are left out."""
    body = {"type": kind, "title": title, "status": status}
    body |= {name: value for name, value in members.items() if value is not None}
    return Response(json.dumps(body), status, mimetype=PROBLEM_TYPE)


def register(app: Flask) -> None:
    """Answers every error of the core, and every bug, as a problem."""
    app.register_error_handler(HubheldError, _of_core)
    app.register_error_handler(Exception, _bug)


def _of_core(error: HubheldError) -> Response:
    status, kind, title = next((s, k, t) for cls, s, k, t in _TABLE if isinstance(error, cls))
    members: dict[str, Any] = {"detail": str(error)}
    if isinstance(error, OutOfStep):
        members["n"] = error.n
    if isinstance(error, RefusedEntry):
        members["seq"] = error.seq
    if isinstance(error, BadList):
        members["errors"] = [
            {"line": cell.line, "column": cell.column, "found": cell.found, "expected": cell.expected}
            for cell in error.cells
        ]
    response = problem(status, f"urn:hubheld:problem:{kind}", title, members)
    if isinstance(error, RetryLater):
        response.headers["Retry-After"] = _RETRY_AFTER_S
    if isinstance(error, TooManyTries):
        response.headers["Retry-After"] = str(error.wait_s)
    return response


def _bug(error: Exception) -> Response | HTTPException:
    """The last resort: says that it is our bug, keeps the trace for the log, and tells nothing of it to the caller."""
    if isinstance(error, HTTPException):
        return error
    current_app.logger.error("unexpected error", exc_info=error)
    return problem(500, "about:blank", "Internal Server Error", {"detail": "a bug in hubheld; nothing was appended"})
