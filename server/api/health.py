"""Says that the server answers and reads its database."""

from server.api import schemas
from server.api.body import StrictBlueprint
from server.flows.health import unit_count

blueprint = StrictBlueprint("health", __name__, url_prefix="/api/v1", description="Whether the server answers")


@blueprint.get("/health")
@blueprint.response(200, schemas.Health)
def health() -> dict[str, object]:
    """Answer when the database can be read."""
    return {"status": "answers", "units": unit_count()}
