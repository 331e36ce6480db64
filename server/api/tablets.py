"""What a tablet calls: enrolment, log uploads, status, pull and PIN keys. Entries authenticate themselves."""

import secrets
from typing import Any

from server.api import schemas
from server.api.body import StrictBlueprint, authority
from server.clock import now_ms
from server.core.entry import SALT_BYTES
from server.core.syncstate import Upload
from server.flows import enrol, intake, pin_keys, pull

blueprint = StrictBlueprint("tablets", __name__, url_prefix="/api/v1", description="What a tablet calls")

Json = dict[str, Any]


@blueprint.post("/enrolments")
@blueprint.arguments(schemas.EnrolmentRequest)
@blueprint.response(201, schemas.Enrolment)
def enrolments(sent: Json) -> Json:
    """Enrol a tablet with a one-time code."""
    return enrol.enrol(authority(), sent["code"], sent["name"], sent["jwk"], sent["proof"], now_ms())


@blueprint.post("/logs/status")
@blueprint.arguments(schemas.StatusRequest)
@blueprint.response(200, schemas.Receipt)
def log_status(sent: Json) -> Json:
    """Say how far the server's copy of a device's log goes."""
    return {"receipt": intake.status(authority(), sent["certificate"], now_ms())}


@blueprint.post("/logs/entries")
@blueprint.arguments(schemas.Upload)
@blueprint.response(200, schemas.Receipt)
def log_entries(sent: Json) -> Json:
    """Take in entries of a device's log. The same upload twice changes nothing."""
    upload = Upload(sent["certificate"], sent["from_"], sent["entries"], sent.get("receipt"))
    return {"receipt": intake.take_in(authority(), upload, now_ms())}


@blueprint.post("/pull")
@blueprint.arguments(schemas.SignedRequest)
@blueprint.response(200, schemas.Pull)
def pull_work(sent: Json) -> Json:
    """Give a tablet its lists, the unit's values and settings, and the staff codes."""
    return pull.pull(authority(), sent["certificate"], sent["request"], now_ms())


@blueprint.post("/pin-keys")
@blueprint.arguments(schemas.PinKeyRequest)
@blueprint.response(201, schemas.PinKey)
def certify_pin_key(sent: Json) -> Json:
    """Certify a surgeon's key on one tablet."""
    salt = secrets.token_bytes(SALT_BYTES)
    return pin_keys.certify(authority(), sent["certificate"], sent["request"], sent["jwk"], salt, now_ms())
