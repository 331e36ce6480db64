"""The composition root: makes the Flask app of one server from its settings."""

from flask import Flask
from flask_migrate import Migrate, upgrade

from server.api import body, client, health, office, problems, tablets
from server.config import BODY_BYTES_MAX, Config
from server.flows import authority
from server.store.database import MIGRATIONS, db


def create_app(config: Config) -> Flask:
    """An app that serves one data folder. Its database must have been migrated (see `migrate`)."""
    config.data_folder.mkdir(parents=True, exist_ok=True)
    app = Flask("hubheld", static_folder=None)
    app.config.update(
        SQLALCHEMY_DATABASE_URI=config.database_url,
        MAX_CONTENT_LENGTH=BODY_BYTES_MAX,
        API_TITLE="hubheld",
        API_VERSION="1",
        OPENAPI_VERSION="3.1.0",
        OPENAPI_URL_PREFIX="/api/v1",
        OPENAPI_JSON_PATH="openapi.json",
    )
    db.init_app(app)
    Migrate(app, db, directory=str(MIGRATIONS), render_as_batch=True)
    app.extensions[body.AUTHORITY] = authority.load(config)
    api = problems.ProblemApi(app)
    for part in (tablets, office, health):
        api.register_blueprint(part.blueprint)
    client.register(app, config.web_folder)
    problems.register(app)
    body.register(app)
    return app


def migrate() -> None:
    """Brings the current app's database to the tables of this version; running it twice changes nothing."""
    upgrade()
