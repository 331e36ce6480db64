"""Shapes of requests and answers: envelope, limits and types only; what they mean is for the core to say."""

from marshmallow import RAISE, Schema, fields, validate

from server.config import ENTRIES_MAX

_JWS_MAX = 300_000
_TEXT_MAX = 20_000


class Strict(Schema):
    """A request envelope: unknown members are refused."""

    class Meta:
        """Unknown members are an error."""

        unknown = RAISE


def _jws() -> fields.String:
    return fields.String(required=True, validate=validate.Length(min=1, max=_JWS_MAX))


def _short(most: int) -> fields.String:
    return fields.String(required=True, validate=validate.Length(min=1, max=most))


class Jwk(Strict):
    """A P-256 public key (RFC 7517)."""

    kty = fields.String(required=True, validate=validate.Equal("EC"))
    crv = fields.String(required=True, validate=validate.Equal("P-256"))
    x = _short(43)
    y = _short(43)


class SealedText(Strict):
    """A text that stands in a signed payload by its digest only."""

    sha256 = _short(43)
    salt = _short(22)
    text = fields.String(required=True, validate=validate.Length(max=_TEXT_MAX))


class UploadedEntry(Strict):
    """One signed entry and the texts beside it."""

    jws = _jws()
    texts = fields.List(fields.Nested(SealedText), required=True, validate=validate.Length(max=100))


class EnrolmentRequest(Strict):
    """A one-time code, the new tablet's name and key, and the proof that it holds the key."""

    code = _short(20)
    name = _short(40)
    jwk = fields.Nested(Jwk, required=True)
    proof = _jws()


class Enrolment(Schema):
    """The certificate of a new tablet, and the server's key to pin."""

    certificate = _jws()
    server_jwk = fields.Nested(Jwk, required=True)
    unit = fields.String(required=True)


class StatusRequest(Strict):
    """Asks how far the server's copy of a log goes."""

    certificate = _jws()


class Upload(Strict):
    """Entries `from`, `from` + 1, … of a device's log."""

    certificate = _jws()
    from_ = fields.Integer(data_key="from", required=True, strict=True, validate=validate.Range(min=0))
    entries = fields.List(fields.Nested(UploadedEntry), required=True, validate=validate.Length(max=ENTRIES_MAX))
    receipt = fields.String(
        validate=validate.Length(min=1, max=_JWS_MAX),
        metadata={"description": "an old receipt for the entries before, for a server that lost them"},
    )


class Receipt(Schema):
    """The server's signed word on what it holds: the only acknowledgement there is."""

    receipt = _jws()


class SignedRequest(Strict):
    """A request that a device signed."""

    certificate = _jws()
    request = _jws()


class PinKeyRequest(SignedRequest):
    """A surgeon's new key on this tablet."""

    jwk = fields.Nested(Jwk, required=True)


class PinKey(Schema):
    """The certificate of a surgeon's key, and the sealed staff code that it names."""

    certificate = _jws()
    person = fields.Nested(SealedText, required=True)


class PlannedLens(Schema):
    """The planned lens of one operation."""

    model = fields.String(required=True)
    power_cdpt = fields.Integer(required=True)
    optic_um = fields.Integer(required=True)
    dry_state_hydrophilic = fields.Boolean(required=True)


class ListSlot(Schema):
    """One planned operation."""

    order = fields.Integer(required=True)
    reference = fields.String(required=True)
    eye = fields.String(required=True)
    anaesthesia = fields.String(required=True)
    red_reflex = fields.String(required=True)
    lens = fields.Nested(PlannedLens, required=True)
    drug = fields.String(required=True)


class TheatreList(Schema):
    """One theatre's list of one day."""

    list = fields.String(required=True)
    date = fields.String(required=True)
    theatre = fields.String(required=True)
    rows = fields.List(fields.Nested(ListSlot), required=True)


class TheatreLists(Schema):
    """The lists of one day."""

    lists = fields.List(fields.Nested(TheatreList), required=True)


class NumberedValues(Schema):
    """The unit's own values, whole and numbered; they enter the judge."""

    number = fields.Integer(required=True)
    values = fields.Raw(required=True)


class NumberedSettings(Schema):
    """The unit's other settings, whole and numbered; they never enter the judge."""

    number = fields.Integer(required=True)
    settings = fields.Raw(required=True)


class Member(Schema):
    """A member of staff by code."""

    code = fields.String(required=True)
    role = fields.String(required=True)


class Pull(Receipt):
    """What a tablet works with."""

    unit_name = fields.String(required=True)
    time_zone = fields.String(required=True)
    unit_values = fields.Nested(NumberedValues, required=True)
    settings = fields.Nested(NumberedSettings, required=True)
    people = fields.List(fields.Nested(Member), required=True)
    lists = fields.List(fields.Nested(TheatreList), required=True)


class OfficeSessionRequest(Strict):
    """Opens the office of one unit."""

    unit = _short(32)
    passphrase = _short(200)


class OfficeSession(Schema):
    """The unit whose office is open."""

    unit = fields.String(required=True)
    name = fields.String(required=True)


class Weeks(Schema):
    """The weeks that have cases, the latest first."""

    weeks = fields.List(fields.String(), required=True)


class CountRow(Schema):
    """One row of the weekly counts; rates and limits are per cent as text, as in the file."""

    step = fields.String(required=True)
    kind = fields.String(required=True)
    grade = fields.String(required=True)
    events = fields.Integer(required=True)
    cases_with = fields.Integer(required=True)
    chances = fields.Integer(required=True)
    caught = fields.Integer(required=True)
    rate_per_100 = fields.String(required=True)
    ci95_low = fields.String(required=True)
    ci95_high = fields.String(required=True)


class Week(Schema):
    """One week of one unit."""

    unit = fields.String(required=True)
    week = fields.String(required=True)
    protocol = fields.String(required=True)
    cautions = fields.List(fields.String(), required=True)
    quality = fields.Raw(required=True)
    rows = fields.List(fields.Nested(CountRow), required=True)


class ImportedList(Schema):
    """What an import did to one list."""

    list = fields.String(required=True, attribute="list_name")
    date = fields.String(required=True)
    theatre = fields.String(required=True)
    added = fields.Integer(required=True)
    changed = fields.Integer(required=True)
    withdrawn = fields.Integer(required=True)
    unchanged = fields.Integer(required=True)


class ImportedLists(Schema):
    """Every list that a file held."""

    lists = fields.List(fields.Nested(ImportedList), required=True)


class Health(Schema):
    """Says that the server answers and can read its database."""

    status = fields.String(required=True)
    units = fields.Integer(required=True)
