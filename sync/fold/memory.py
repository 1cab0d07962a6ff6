"""What a place remembers, as bytes, so that newer findings can be judged without reading its history again."""

from collections.abc import Callable, Sequence

import msgspec

from sync.fold.context import Context
from sync.fold.statement import Statement, known_with


class Memory(msgspec.Struct, frozen=True, kw_only=True, array_like=True):
    """`lasts`: the newest `sound` of each device, {device: (seq, id)}. A quiet place, where nobody ever saw anything,
    has nothing else.

    Any other has its statements: the `sounds` that matter, everything else in `loud`, and what was taken back in
    `voided`. `waiting`: entries not here that a verdict names instead of a fault; if one comes, that verdict is heard
    anew. What a walk knew stands with the walk, once, and is put back on reading.
    """

    lasts: dict[str, tuple[int, str]] = {}
    sounds: list[Statement] = []
    loud: list[Statement] = []
    voided: list[Statement] = []
    waiting: list[str] = []

    @property
    def quiet(self) -> bool:
        return not (self.sounds or self.loud or self.voided)

    @property
    def statements(self) -> list[Statement]:
        return [*self.sounds, *self.loud, *self.voided]


_decode = msgspec.msgpack.Decoder(Memory).decode
_encode = msgspec.msgpack.Encoder(order="deterministic").encode


def write_memory(memory: Memory) -> bytes:
    return _encode(memory) if memory.quiet else _encode(_each(memory, _without_walk))


def read_memory(data: bytes, context: Context) -> Memory:
    memory = _decode(data)
    if memory.quiet:
        return memory

    def with_walk(statement: Statement) -> Statement:
        view = context.walk_view(statement.seen.walk or None, statement.device)
        return msgspec.structs.replace(statement, knows=known_with(view.knows, statement.own))

    return _each(memory, with_walk)


def _without_walk(statement: Statement) -> Statement:
    return msgspec.structs.replace(statement, knows={})


def _each(memory: Memory, change: Callable[[Statement], Statement]) -> Memory:
    def changed(statements: Sequence[Statement]) -> list[Statement]:
        return [change(statement) for statement in statements]

    return msgspec.structs.replace(
        memory, sounds=changed(memory.sounds), loud=changed(memory.loud), voided=changed(memory.voided)
    )
