"""The catalogue that is edited, at hand: made when the first edit is looked at, then kept."""

from __future__ import annotations

import gc
import threading
from collections.abc import Callable
from pathlib import Path

from ..reasoner.catalogue import Catalogue
from ..reasoner.files import folder_files, is_store
from ..reasoner.load import Texts, load_texts, ontology_folder, stated, version_in_store
from ..reasoner.reading import read_facts
from ..reasoner.upkeep.at_hand import AtHand
from ..reasoner.upkeep.store_facts import facts_in_store


class KeptAtHand:
    """At most one catalogue at hand, of what a folder states now. Threads may share it."""

    def __init__(self) -> None:
        self._hand: AtHand | None = None
        self._making = threading.Lock()

    def of(self, folder: Path, served: Catalogue) -> AtHand:
        """The catalogue in `folder` at hand, which may be the one that is `served`.

        One that was made of something else than is stated now is let go, and another is made.

        Raises:
            CatalogueFileError, CatalogueRefused, NotAStatement: it cannot be used.
        """
        with self._making:
            version, read = stated(folder)
            if self._hand is None or self._hand.catalogue.version != version:
                self._hand = None  # it is large
                self._hand = _made(folder, served, read)
                self._hand.ready()
                # It holds no cycles, and looking through it for some would hold up everybody.
                gc.freeze()
            return self._hand


def _made(folder: Path, served: Catalogue, read: Callable[[], Texts]) -> AtHand:
    if is_store(folder):
        now, facts = facts_in_store(folder)
        version = version_in_store(folder_files(ontology_folder(), is_ontology=True), now)
        if version == served.version:
            return AtHand(facts, served, (now, facts))
    version, files = read()
    catalogue = served if served.version == version else load_texts(version, files)
    return AtHand(read_facts(files), catalogue)
