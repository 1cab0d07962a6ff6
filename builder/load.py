"""Fleet files from a folder to a Fleet; every mistake at once, with file and key."""

import tomllib
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from builder.crosscheck import crosscheck
from builder.errors import FleetError
from builder.fleet import Fleet, FleetFile, Template, VehicleFile
from builder.mistakes import Mistake, from_pydantic, shown
from builder.salvage import salvage

Model = TypeVar("Model", bound=BaseModel)
_LARGEST = 4 * 1024 * 1024


def load_fleet(folder: Path) -> Fleet:
    """Read FLEET/fleet.toml, FLEET/templates/*.toml and FLEET/vehicles/*.toml.

    Raises FleetError with every mistake found, in the order of files and keys.
    """
    mistakes: list[Mistake] = []
    file = _read(folder, folder / "fleet.toml", FleetFile, mistakes)
    templates = _read_all(folder, "templates", Template, mistakes)
    vehicles = _read_all(folder, "vehicles", VehicleFile, mistakes)
    if not vehicles and not mistakes:
        mistakes.append(Mistake("vehicles/", "", "no vehicle file", "at least one vehicles/NAME.toml"))
    if file is not None:
        mistakes += crosscheck(file, templates, vehicles)
    if mistakes or file is None:
        raise FleetError(tuple(str(m) for m in sorted(set(mistakes))))
    ordered = sorted((v for v in vehicles.values() if v), key=lambda vehicle: vehicle.id)
    return Fleet(file=file, templates={k: t for k, t in templates.items() if t}, vehicles=tuple(ordered))


def _read_all(folder: Path, name: str, model: type[Model], mistakes: list[Mistake]) -> dict[str, Model | None]:
    """File stem -> what it says, or None where it cannot be read: so a broken template is not also missing."""
    paths = sorted((folder / name).glob("*.toml"))
    return {path.stem: _read(folder, path, model, mistakes) for path in paths}


def _read(folder: Path, path: Path, model: type[Model], mistakes: list[Mistake]) -> Model | None:
    name = path.relative_to(folder).as_posix()
    data = _parse(name, path, mistakes)
    if data is None:
        return None
    try:
        return model.model_validate(_frozen(data))
    except ValidationError as error:
        mistakes += from_pydantic(name, data, error)
        return salvage(model, data, error)


def _parse(name: str, path: Path, mistakes: list[Mistake]) -> dict[str, Any] | None:
    try:
        if path.stat().st_size > _LARGEST:
            mistakes.append(Mistake(name, "", f"{path.stat().st_size} bytes in one file", "at most 4 MiB"))
            return None
        return tomllib.loads(path.read_bytes().decode("utf-8"))
    except FileNotFoundError:
        mistakes.append(Mistake(name, "", "no such file", "this file in the fleet's folder"))
    except OSError as error:
        mistakes.append(Mistake(name, "", error.strerror or "a file that cannot be read", "a readable file"))
    except UnicodeDecodeError as error:
        mistakes.append(Mistake(name, "", f"a byte at {error.start} that is not UTF-8", "text in UTF-8"))
    except RecursionError:
        mistakes.append(Mistake(name, "", "brackets nested too deep", "the keys that fleet files have"))
    except tomllib.TOMLDecodeError as error:
        mistakes.append(Mistake(name, "", f"broken TOML: {shown(str(error)).strip(chr(34))}", "valid TOML"))
    return None


def _frozen(value: object) -> object:
    """TOML's lists as tuples, which is what frozen, strict models take."""
    if isinstance(value, list):
        return tuple(_frozen(item) for item in value)
    if isinstance(value, dict):
        return {key: _frozen(item) for key, item in value.items()}
    return value
