"""Component schemas of the contract: msgspec's own, mended where it leaves something out.

Types that many fields share become one component, attribute texts become descriptions, enums get their type.
"""

from __future__ import annotations

import inspect
import re
from typing import Any

import msgspec
from msgspec import Struct

from service.web import examples, limits
from service.web.quantities import DIMENSIONS

REF = "#/components/schemas/"
Node = dict[str, Any]


def schemas_of(shapes: list[type[Struct]]) -> Node:
    """The components of these shapes and of all that they are made of, by name."""
    _, made = msgspec.json.schema_components(shapes, ref_template=REF + "{name}")
    texts = {shape.__name__: _attribute_texts(shape) for shape in _reached(shapes)}
    shared: Node = {}
    done: Node = {}
    for name, schema in made.items():
        for field, prop in schema.get("properties", {}).items():
            if "description" not in prop and field in texts.get(name, {}):
                prop["description"] = texts[name][field]
        if schema.get("description"):
            schema["description"] = schema["description"].partition("Attributes:")[0].strip()
        if "properties" in schema and schema.get("additionalProperties") is not False:
            # An answer has every field, also one that most of our own code leaves at its default.
            schema["required"] = list(schema["properties"])
        done[name] = _mend(schema, shared)
    return dict(sorted({**done, **shared}.items()))


def _mend(node: Any, shared: Node) -> Any:
    """Shared types to components, nullable unions to type lists, types beside enums."""
    if isinstance(node, list):
        return [_mend(one, shared) for one in node]
    if not isinstance(node, dict):
        return node
    node = {key: _mend(value, shared) for key, value in node.items()}
    if "x-ref" in node:
        return _share(node, shared)
    if "enum" in node and "type" not in node:
        node["type"] = "string"
    options = node.get("anyOf")
    if options and len(options) == 2 and {"type": "null"} in options:
        other = next(o for o in options if o != {"type": "null"})
        if isinstance(other.get("type"), str):
            del node["anyOf"]
            node |= {**other, **node, "type": [other["type"], "null"]}
            if "enum" in other:
                node["enum"] = [*other["enum"], None]
    for bound in ("minimum", "maximum"):
        if node.get("type") == "integer" and bound in node:
            node[bound] = int(node[bound])
    return node


def _share(node: Node, shared: Node) -> Node:
    """A reference to the shared type; the field's own text stays beside it."""
    name = node.pop("x-ref")
    own: Node = {key: node.pop(key) for key in ("description", "examples") if key in node}
    shared[name] = {"title": name, **SHARED_TEXTS[name], **node}
    own["$ref"] = REF + name
    return own


SHARED_TEXTS: dict[str, Node] = {
    "Code": {
        "description": "A stable code from the catalogue. One that is not known there is answered with the likely one.",
    },
    "Text": {"description": "A short text without control characters, used as it is."},
    "Day": {"description": f"A day from {limits.FIRST_DAY} to {limits.LAST_DAY}.", "examples": ["2026-05-04"]},
    "PieceCode": {"description": "Mark of a piece of wood in a yard.", "examples": ["kr_011"]},
    "LineCode": {"description": "Code of a line, unique in its section.", "examples": ["log_dry_10_12"]},
    "NumberText": {"description": "A number as decimal text, kept as it was typed.", "examples": ["19.40"]},
    "LineUnit": {"description": "What the number of a line counts.", "examples": ["ft"]},
    "LineSource": {"description": "Where the number of a line comes from.", "examples": ["mill's list of 4 May"]},
    "LineWhat": {"description": "A line in words.", "examples": ["House log, peeled, a foot"]},
    "Note": {"description": "What something is for, in words.", "examples": ["This week's log price"]},
    "Hours": {"description": "Person-hours as decimal text.", "examples": ["12.5"]},
    "Whole": {"description": "A whole number, bare. Whether it makes sense is said in the answer."},
    "Number": {"description": "A bare number. Whether it makes sense is said in the answer."},
    "RegionCode": {"description": "Code of a region.", "examples": [examples.REGION]},
    "Money": {
        "description": "Money as decimal text, in the currency of the answer.", "examples": ["2312.00"],
    },
    "DecimalText": {"description": "A number as decimal text, without an exponent.", "examples": ["0.15"]},
    "Revision": {"description": "Name of a revision of the rates, as an answer gave it."},
    **{
        d.title: dict[str, Any]({
            "description": f"A number, a fraction or a range, with its unit: {', '.join(d.units)}.",
            "examples": list(d.examples),
        })
        for d in DIMENSIONS.values()
    },
}
"""What is said of the types that many fields share."""

_ATTRIBUTE = re.compile(r"^    (\w+): (.+?)(?=^    \w+: |\Z)", re.MULTILINE | re.DOTALL)


def _attribute_texts(shape: type[Struct]) -> dict[str, str]:
    """Descriptions of a shape's fields, from the attributes of its docstring and its bases', by their names on the wire."""
    docs = [inspect.cleandoc(base.__doc__ or "").partition("Attributes:\n")[2] for base in shape.__mro__]
    wire = dict(zip(shape.__struct_fields__, shape.__struct_encode_fields__, strict=True))
    told = [pair for doc in reversed(docs) for pair in _ATTRIBUTE.findall(doc)]
    return {wire[name]: " ".join(text.split()) for name, text in told if name in wire}


def _reached(shapes: list[type[Struct]]) -> list[type[Struct]]:
    """All shapes that these are made of."""
    found: dict[type[Struct], None] = {}

    def see(kind: Any) -> None:
        if isinstance(kind, msgspec.inspect.StructType):
            if kind.cls in found:
                return
            found[kind.cls] = None
            for field in kind.fields:
                see(field.type)
        for name in ("type", "item_type", "value_type"):
            if hasattr(kind, name):
                see(getattr(kind, name))
        for one in getattr(kind, "types", ()):
            see(one)

    for kind in msgspec.inspect.multi_type_info(shapes):
        see(kind)
    return list(found)
