"""Rendered files -> the finished app: content hashes, the precache list, and the worker that carries them. Pure."""

import hashlib
import json

WORKER = "worker.js"
_VERSION = b'"VERSION"'
_FILES = b"{/* FILES */}"


def finish(files: dict[str, bytes]) -> dict[str, bytes]:
    """The files with their worker filled in: it lists every other file by SHA-256.

    The version is 16 hex digits of the SHA-256 over the list and the worker's own template, so it changes when
    any byte does and never otherwise.

    Raises KeyError where there is no worker, ValueError where it has not exactly one place for each value.
    """
    template = files[WORKER]
    for place in (_VERSION, _FILES):
        if template.count(place) != 1:
            raise ValueError(f"{WORKER}: found {place.decode()} {template.count(place)} times; expected it once")
    listed = precache(files)
    version = _version(listed, template)
    finished = template.replace(_VERSION, json.dumps(version).encode()).replace(_FILES, _list(listed))
    return {**files, WORKER: finished}


def precache(files: dict[str, bytes]) -> dict[str, str]:
    """Path -> SHA-256 (hex) of every file but the worker, in order of path."""
    return {path: hashlib.sha256(files[path]).hexdigest() for path in sorted(files) if path != WORKER}


def _version(listed: dict[str, str], template: bytes) -> str:
    return hashlib.sha256(_list(listed) + template).hexdigest()[:16]


def _list(listed: dict[str, str]) -> bytes:
    return json.dumps(listed, indent=1, ensure_ascii=True).encode()
