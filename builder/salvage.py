"""What can still be read of a file with mistakes, so that its other mistakes are found in the same go."""

import copy
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

Model = TypeVar("Model", bound=BaseModel)
_PASSES = 6
_UNSAID = "unsaid"


def salvage(model: type[Model], data: Any, error: ValidationError) -> Model | None:
    """The model from data with what is wrong taken out or made harmless; None where too little is left.

    For the cross-check alone: nothing is ever built from it, since its file's mistakes are told.
    """
    data = copy.deepcopy(_thawed(data))
    for _ in range(_PASSES):
        for item in error.errors(include_url=False):
            _mend(data, item["loc"], item["type"], item.get("ctx", {}))
        try:
            return model.model_validate(_refrozen(data))
        except ValidationError as again:
            error = again
    return None


def _mend(data: Any, loc: tuple[int | str, ...], kind: str, context: dict[str, Any]) -> None:
    place, last = _parent(data, loc)
    if isinstance(place, dict) and place.get(last) == _UNSAID:
        place, last = _parent(data, loc[:-1])  # nothing fits there: its whole item goes
    if isinstance(place, dict) and kind == "missing":
        place[last] = _UNSAID
    elif isinstance(place, dict) and kind == "literal_error" and last in place:
        place[last] = str(context["expected"]).split("'")[1]
    elif isinstance(place, dict):
        place.pop(last, None)
    elif isinstance(place, list) and isinstance(last, int) and last < len(place):
        # Emptied, not removed: the places of those after it must hold for this pass.
        place[last] = None


def _parent(data: Any, loc: tuple[int | str, ...]) -> tuple[Any, Any]:
    """The container that holds the fault and the key in it; a location's union tags are passed over."""
    place: Any = data
    holder: Any = None
    last: Any = None
    for part in loc:
        if isinstance(place, dict) and (part in place or part == loc[-1]):
            holder, last, place = place, part, place.get(part)
        elif isinstance(place, list) and isinstance(part, int) and part < len(place):
            holder, last, place = place, part, place[part]
    return holder, last


def _thawed(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _thawed(item) for key, item in value.items()}
    return [_thawed(item) for item in value] if isinstance(value, (list, tuple)) else value


def _refrozen(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _refrozen(item) for key, item in value.items()}
    return tuple(_refrozen(i) for i in value if i is not None) if isinstance(value, list) else value
