"""The base of every JSON object, and the way a body becomes one. Layer: service.edge."""

import math
from typing import Any, ClassVar, Self

from pydantic import BaseModel, ConfigDict, GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo, model_validator
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError

from engine.errors import InputError
from engine.quantities import BY_NAME, SUFFIX_UNITS
from service.edge.docstrings import words_below

LONG_ARRAY_COUNT = 500
"""An array that may hold more entries than this reports its first fault only: a fault costs far more memory than the
bytes that make it."""


def _stop_long_arrays(node: Any, of: type) -> None:
    """Set ``fail_fast`` on the long arrays in the validator of a model; those of models within have it already."""
    if isinstance(node, list):
        for below in node:
            _stop_long_arrays(below, of)
    elif isinstance(node, dict):
        made = node.get("cls", of)
        if made is not of and node.get("type") == "model" and issubclass(made, Model):
            return
        open_ended = node.get("type") == "list" or "variadic_item_index" in node
        if open_ended and (node.get("max_length") or math.inf) > LONG_ARRAY_COUNT:
            node["fail_fast"] = True
        for key, below in node.items():
            if key not in ("metadata", "serialization", "cls"):
                _stop_long_arrays(below, of)


class Model(BaseModel):
    """Strict: no coercion, no unknown field, no NaN or infinity, no change after it is made.

    A field whose name ends in a unit gets that unit as ``x-unit`` in the schema, and the definition in the table of
    quantities where it has no words of its own.
    """

    model_config = ConfigDict(
        strict=True,
        extra="forbid",
        allow_inf_nan=False,
        frozen=True,
        ser_json_inf_nan="constants",  # so that a NaN in an answer is seen and refused, not turned into null
    )

    _may_be_absent: ClassVar[frozenset[str]]

    @classmethod
    def __pydantic_init_subclass__(cls, **_: Any) -> None:
        """Note which fields are left out where they do not exist: asked of every object read."""
        cls._may_be_absent = frozenset(name for name in cls.model_fields if absent_by_default(cls, name))

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Return the validator, in which long arrays stop at their first fault."""
        schema = handler(source)
        _stop_long_arrays(schema, cls)
        return schema

    @model_validator(mode="after")
    def _no_null_for_absent(self, info: ValidationInfo) -> Self:
        """Refuse a null in JSON for a field that is left out when it does not exist."""
        if self._may_be_absent and info.mode == "json":
            for name in self._may_be_absent & self.__pydantic_fields_set__:
                if getattr(self, name) is None:
                    raise InputError("must be left out where it does not exist", code="wrong-type", field=name)
        return self

    @classmethod
    def __get_pydantic_json_schema__(cls, core_schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        """Return the schema with ``x-unit`` and a description on the physical fields, and absence in place of null."""
        schema = handler(core_schema)
        resolved = handler.resolve_ref_schema(schema)
        properties: dict[str, dict[str, Any]] = resolved.get("properties", {})
        for name, facts in properties.items():
            if facts.get("title") not in KEPT_TITLES:
                facts.pop("title", None)
            if absent_by_default(cls, name):
                facts.update(_without_null(facts))
            said = words_below(cls, name)
            words = described(name) | ({} if said is None else {"description": said})
            facts.update({key: value for key, value in words.items() if key not in facts})
        if handler.mode == "serialization":
            for facts in properties.values():
                facts.pop("default", None)
            resolved["required"] = [name for name in properties if not absent_by_default(cls, name)]
        return schema


KEPT_TITLES = ("SurveyQuantity", "Measured")
"""Titles of types; the others only repeat the field's name."""


def absent_by_default(model: type[BaseModel], name: str) -> bool:
    """Return whether a field is left out, rather than null, where it does not exist."""
    field = model.model_fields.get(name)
    return field is not None and not field.is_required() and field.default is None and field.default_factory is None


def _without_null(facts: dict[str, Any]) -> dict[str, Any]:
    """Take null out of a field's schema, in place; return what its one remaining choice adds."""
    facts.pop("default", None)
    choices = [choice for choice in facts.get("anyOf", ()) if choice != {"type": "null"}]
    if not choices:
        return {}
    if len(choices) > 1:
        return {"anyOf": choices}
    del facts["anyOf"]
    return dict(choices[0])


def described(name: str) -> dict[str, str]:
    """Return what the table of quantities says about a field of this name: ``x-unit`` and ``description``."""
    facts = {}
    unit = next((unit for suffix, unit in SUFFIX_UNITS.items() if name.endswith(suffix)), None)
    if unit is not None:
        facts["x-unit"] = unit
    quantity = BY_NAME.get(name)
    if quantity is not None:
        sign = f" Sign: {quantity.sign}." if quantity.sign else ""
        facts["description"] = quantity.definition + sign
    return facts


def fault(code: str, message: str, **numbers: float) -> PydanticCustomError:
    """Return the error a validator raises: kebab-case code, a text with ``{name}`` for each of ``numbers``.

    The text is sent to the client, so it must not hold a string of the request.
    """
    return PydanticCustomError(code, message, numbers or None)
