"""The composition root: one Flask application out of the parts. No part imports this module."""

import gzip

from flask import Flask, Response, abort, jsonify, request
from werkzeug.exceptions import HTTPException

from webapp import __version__, body
from webapp.access import guard, pairing
from webapp.forms import FORMS, gate
from webapp.log import sync
from webapp.page import assets

LARGEST_BODY = 256 * 1024
WORTH_PACKING = 600


def create_app(config=None):
    """Build the application. `config` may give HOSTS, further names of this machine, PHONES, those that are paired, and
    LOG, the open log; without one there is nothing to sync with. UNJOINED: the page's modules one by one."""
    app = Flask("webapp", static_folder=None)
    app.config.update({"HOSTS": (), "PHONES": pairing.Phones(), "UNJOINED": False, "MAX_CONTENT_LENGTH": LARGEST_BODY, **(config or {})})
    app.json.sort_keys = False
    guard.protect(app)
    files = assets.all_assets(app.config["UNJOINED"])
    pairing.protect(app, app.config["PHONES"], open_paths=(*files, "/healthz"))
    app.register_error_handler(HTTPException, _error)
    app.after_request(_pack)
    _add_assets(app, files)
    if app.config.get("LOG") is not None:
        app.register_blueprint(sync.blueprint(app.config["LOG"]))

    @app.post("/api/calc/<name>")
    def calculate(name):
        if name not in FORMS:
            abort(404, "There is no calculator of this name; see /api/forms.")
        asked = body.read_json_object()
        if list(asked) != ["inputs"]:
            abort(400, 'The body must be an object with one key, "inputs".')
        try:
            return jsonify(gate.answer(name, asked["inputs"]))
        except gate.Refused as refused:
            return jsonify(errors=refused.errors), 422

    @app.get("/healthz")
    def health():
        return jsonify(status="ok", version=__version__)

    return app


def _add_assets(app, files):
    """Serve every file of the offline page from memory, under the address that the service worker knows."""

    def send():
        asset = files.get(request.path)
        if asset is None:
            abort(404, "There is nothing at this address.")
        packed = "gzip" in request.headers.get("Accept-Encoding", "")
        response = Response(
            asset.packed if packed else asset.body, content_type=f"{asset.type}; charset=utf-8" if _is_text(asset.type) else asset.type
        )
        if packed:
            response.headers["Content-Encoding"] = "gzip"
        response.headers["Cache-Control"] = "no-cache"
        response.vary.add("Accept-Encoding")
        response.set_etag(asset.digest + ("-gz" if packed else ""))
        return response.make_conditional(request)

    for path in files:
        app.add_url_rule(path, endpoint=f"asset {path}", view_func=send)


def _is_text(type):
    return type.startswith("text/") or type in ("application/json", "application/manifest+json", "image/svg+xml")


def _error(error):
    """One JSON shape for every error."""
    return jsonify(errors={"form": [error.description]}), error.code


def _pack(response):
    """Compress what a view made, where the client takes it and it is worth it."""
    ready = response.direct_passthrough or "Content-Encoding" in response.headers or response.status_code in (204, 304)
    if not ready and "gzip" in request.headers.get("Accept-Encoding", "") and (response.content_length or 0) > WORTH_PACKING:
        response.set_data(gzip.compress(response.get_data(), 6))
        response.headers["Content-Encoding"] = "gzip"
        response.vary.add("Accept-Encoding")
    return response
