"""The API told to programs, as an OpenAPI 3.1 document made from the table of operations."""

from __future__ import annotations

import re
from typing import Any

from flask import Blueprint, Response, jsonify

from journal_server.api.operations import JSON, OPERATIONS, Operation

blueprint = Blueprint("openapi", __name__)

EVERYWHERE = (400, 401, 403, 503)
"""An address not to be read; not paired or not reaching so far; a journal that is busy, or a server not ready."""

_MEANINGS = {
    200: "Done",
    201: "Made",
    202: "Begun",
    206: "A part of it",
    304: "Unchanged",
    400: "Not as it was sent, or not to be read",
    401: "No key, or a revoked one",
    403: "Beyond the caller's role",
    404: "Not there",
    409: "Meanwhile changed elsewhere",
    413: "Too large",
    416: "No such part",
    422: "Refused, with the reason",
    429: "Too many tries",
    503: "Busy; try again",
}

_ERROR = {
    "type": "object",
    "required": ["error"],
    "properties": {
        "error": {
            "type": "object",
            "required": ["message", "field", "kind", "details"],
            "properties": {
                "message": {"type": "string"},
                "field": {"type": ["string", "null"]},
                "kind": {"type": "string"},
                "details": {"type": "object"},
            },
        }
    },
}


@blueprint.get("/openapi.json")
def openapi() -> Response:
    return jsonify(openapi_document())


def openapi_document() -> dict[str, Any]:
    """All operations, with what they take and every status they can answer with."""
    paths: dict[str, dict[str, Any]] = {}
    for (method, rule), operation in OPERATIONS.items():
        path = re.sub(r"<([^>]+)>", r"{\1}", rule)
        paths.setdefault(path, {})[method.lower()] = _described(rule, operation)
    return {
        "openapi": "3.1.0",
        "info": {"title": "Planting trial journal", "version": "1"},
        "paths": paths,
        "components": {"schemas": {"Error": _ERROR}},
    }


def _described(rule: str, operation: Operation) -> dict[str, Any]:
    in_path = [
        {"name": name, "in": "path", "required": True, "schema": {"type": "string", "minLength": 1}}
        for name in re.findall(r"<([^>]+)>", rule)
    ]
    in_query = [{"name": name, "in": "query", "schema": dict(schema)} for name, schema in operation.query.items()]
    told: dict[str, Any] = {
        "summary": operation.says,
        "parameters": in_path + in_query,
        "responses": {str(status): answer for status, answer in _answers(operation).items()},
    }
    if operation.body is not None:
        kind = "multipart/form-data" if operation.form else JSON
        told["requestBody"] = {"required": True, "content": {kind: {"schema": dict(operation.body)}}}
    return told


def _answers(operation: Operation) -> dict[int, dict[str, Any]]:
    error = {"content": {JSON: {"schema": {"$ref": "#/components/schemas/Error"}}}}
    answers = {status: {"description": _MEANINGS[status]} | error for status in (*EVERYWHERE, *operation.refuses)}
    for status, kinds in operation.gives.items():
        answers[status] = {"description": _MEANINGS[status]}
        if kinds:
            answers[status] |= {"content": {kind: {} for kind in kinds}}
    return dict(sorted(answers.items()))
