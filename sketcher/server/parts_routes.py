"""The library of own parts: listed, kept, deleted, saved and opened as a file."""

from __future__ import annotations

import json
from http import HTTPStatus
from typing import Any

from flask import Blueprint, Response
from pydantic import RootModel

from sketcher.document.files import part_to_plain
from sketcher.document.library import Library, OwnPart
from sketcher.reference.starters import starters
from sketcher.server import requests
from sketcher.server.answers_parts import PartList
from sketcher.server.contract import gives, gives_files, takes
from sketcher.server.errors import Refusal
from sketcher.server.plates_routes import file_answer

#: As ``PartName`` has it.
LONGEST_NAME = 120

blueprint = Blueprint("parts", __name__, url_prefix="/api/parts")


class Kept(RootModel[OwnPart]):
    """One part, as it is kept."""


def _listed() -> dict[str, Any]:
    kept = [json.loads(content) for content in requests.plates().parts().values()]
    return {"parts": kept, "starters": [part_to_plain(part) for part in starters()]}


@blueprint.get("")
@gives(PartList)
def listed() -> dict[str, Any]:
    """Every part that is kept, and those to start from."""
    return _listed()


@blueprint.put("")
@takes(Kept, HTTPStatus.UNPROCESSABLE_ENTITY, "part")
@gives(PartList)
def keep(body: Kept) -> dict[str, Any]:
    """Keeps a part under its name, in place of an older one of that name."""
    requests.plates().put_parts({body.root.name: _text(body.root)})
    return _listed()


@blueprint.delete("/<path:part>")
@gives(PartList)
def delete(part: str) -> dict[str, Any]:
    """Deletes a part; plates that have used it keep what they took."""
    if not requests.plates().delete_part(part):
        raise Refusal(HTTPStatus.NOT_FOUND, "not-found", f"There is no part called {part!r}.")
    return _listed()


@blueprint.get("/library.json")
@gives_files("application/json")
def download() -> Response:
    """All kept parts as a file, the same bytes each time."""
    kept = {name: json.loads(content) for name, content in sorted(requests.plates().parts().items())}
    text = json.dumps({"format": "parts", "version": 1, "parts": list(kept.values())}, indent=2, ensure_ascii=False)
    return file_answer((text + "\n").encode(), "application/json", "parts.json")


@blueprint.post("/library")
@takes(Library, HTTPStatus.UNPROCESSABLE_ENTITY, "library")
@gives(PartList)
def open_file(body: Library) -> dict[str, Any]:
    """Takes in a file of parts, all of it or none; another part of a name that is kept already is numbered."""
    names = [part.name for part in body.parts]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise Refusal(
            HTTPStatus.UNPROCESSABLE_ENTITY, "library", f"Two parts are called {twice!r}; give each a name of its own."
        )
    kept = requests.plates().parts()
    for part in body.parts:
        kept[_free_name(kept, part)] = _text(part)
    requests.plates().put_parts(
        {name: json.dumps({**json.loads(text), "name": name}, ensure_ascii=False) for name, text in kept.items()}
    )
    return _listed()


def _free_name(kept: dict[str, str], part: Any) -> str:
    """A part's own name, or the first with a number that nothing else has; the same part again keeps its name."""
    told, name, number = json.loads(_text(part)), part.name, 1
    while name in kept and {**json.loads(kept[name]), "name": part.name} != told:
        number += 1
        end = f" ({number})"
        name = part.name[: LONGEST_NAME - len(end)] + end
    return str(name)


def _text(part: Any) -> str:
    return json.dumps(part_to_plain(part), ensure_ascii=False)
