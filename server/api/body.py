"""Request bodies: strict JSON only, checked before any schema sees them, and blueprints that read them so."""

from typing import Any

from flask import Flask, Request, current_app, request
from flask_smorest import Blueprint
from webargs.flaskparser import FlaskParser
from werkzeug.exceptions import LengthRequired, UnsupportedMediaType

from server.core import strict_json
from server.core.errors import InvalidInput
from server.flows.authority import Authority

AUTHORITY = "hubheld_authority"


def register(app: Flask) -> None:
    """Refuses a body that does not say how long it is: one that is too long would be cut off unseen."""
    app.before_request(_need_length)


def _need_length() -> None:
    if "Transfer-Encoding" in request.headers:
        raise LengthRequired("send the body with its Content-Length")


def authority() -> Authority:
    """The server's signing authority, put in place by the composition root."""
    found: Authority = current_app.extensions[AUTHORITY]
    return found


class StrictParser(FlaskParser):
    """Reads a body as strict JSON; anything else is refused with the place that is wrong."""

    def load_json(self, req: Request, schema: object) -> Any:
        """The parsed body. Raises InvalidInput, or 415 for another content type."""
        if req.mimetype != "application/json":
            raise UnsupportedMediaType("send application/json")
        body = strict_json.parse(req.get_data())
        if not isinstance(body, dict):
            raise InvalidInput("body", "another value", "an object")
        return body


class StrictBlueprint(Blueprint):
    """A blueprint whose JSON bodies are strict."""

    ARGUMENTS_PARSER = StrictParser()
