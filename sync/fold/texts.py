"""Which of some texts may speak of one thing; what was compared once is remembered, since texts change little."""

from collections.abc import Collection

from rapidfuzz import fuzz, process

#: Two texts that are alike by this much of 100 may speak of one thing.
ALIKE = 85


class Texts:
    """The texts of one vehicle's open defects, as they were last asked about."""

    def __init__(self) -> None:
        self._seen: set[str] = set()
        self._pairs: set[tuple[str, str]] = set()

    def alike(self, texts: Collection[str]) -> set[tuple[str, str]]:
        """Pairs of different texts that are alike, each once."""
        wanted = set(texts)
        old = self._seen & wanted
        self._pairs = {pair for pair in self._pairs if pair[0] in old and pair[1] in old}
        compared = list(old)
        for text in wanted - old:
            close = process.extract(text, compared, scorer=fuzz.token_set_ratio, score_cutoff=ALIKE, limit=None)
            self._pairs |= {(text, other) for other, _, _ in close}
            compared.append(text)
        self._seen = wanted
        return self._pairs
