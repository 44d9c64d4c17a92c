"""The base of every JSON object, and the way a body becomes one. Layer: service.edge."""

from typing import Any

from pydantic import BaseModel, ConfigDict, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError

from engine.quantities import BY_NAME, SUFFIX_UNITS


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
        use_attribute_docstrings=True,
    )

    @classmethod
    def __get_pydantic_json_schema__(cls, core_schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        """Return the schema with ``x-unit`` and a description on the physical fields."""
        schema = handler(core_schema)
        properties: dict[str, dict[str, Any]] = handler.resolve_ref_schema(schema).get("properties", {})
        for name, facts in properties.items():
            facts.update({key: words for key, words in described(name).items() if key not in facts})
            facts.pop("title", None)
        return schema


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
