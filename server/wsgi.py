"""What gunicorn loads: one server with the settings of the environment."""

from server.app import create_app
from server.config import from_environment

app = create_app(from_environment())
