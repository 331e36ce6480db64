"""Serves the built web client, and puts the security headers on every answer."""

from pathlib import Path

from flask import Flask, Response, request, send_from_directory
from werkzeug.exceptions import NotFound
from werkzeug.routing import PathConverter

_POLICY = (
    "default-src 'none'",
    "script-src 'self'",
    "style-src 'self'",
    "img-src 'self'",
    "font-src 'self'",
    "connect-src 'self'",
    "worker-src 'self'",
    "manifest-src 'self'",
    "object-src 'none'",
    "base-uri 'none'",
    "form-action 'self'",
    "frame-ancestors 'none'",
    "require-trusted-types-for 'script'",
    "trusted-types app-sw",
)
_HEADERS = {
    "Content-Security-Policy": "; ".join(_POLICY),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), microphone=(), geolocation=()",
}
_FOR_EVER = "public, max-age=31536000, immutable"


class _ClientPath(PathConverter):
    """Any address outside the API: an unknown one inside it is not found, whatever the method."""

    regex = "(?!api(?:/|$))[^/].*?"


def _is_file(path: Path) -> bool:
    """False also for a name that no file system takes."""
    try:
        return path.is_file()
    except OSError:
        return False


def register(app: Flask, web_folder: Path) -> None:
    """Serves the files of `web_folder`; every other address outside the API is a screen of the one page."""
    app.url_map.converters["client_path"] = _ClientPath

    @app.get("/")
    @app.get("/<client_path:name>")
    def client(name: str = "index.html") -> Response:
        if not (web_folder / "index.html").is_file():
            raise NotFound("the web client is not built: python3 -m seed_demo --no-serve")
        is_file = _is_file(web_folder / name)
        if not is_file and "." in name.rpartition("/")[2]:
            raise NotFound
        response = send_from_directory(web_folder, name if is_file else "index.html", conditional=True)
        response.headers["Cache-Control"] = _FOR_EVER if is_file and name.startswith("assets/") else "no-cache"
        return response

    @app.after_request
    def headers(response: Response) -> Response:
        for name, value in _HEADERS.items():
            response.headers.setdefault(name, value)
        if request.path.startswith("/api/"):
            response.headers.setdefault("Cache-Control", "no-store")
        return response
