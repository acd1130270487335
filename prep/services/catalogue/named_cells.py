"""The items that a file names in its cells: each by any of its names, turned into its code."""

from collections.abc import Collection

from prep.chemistry.catalogue import WATER, Catalogue
from prep.errors import PrepError
from prep.services.catalogue.names import choose_item
from prep.services.files.csv_file import Row


class NamedCells:
    """Reads the names of a row's cells; `says` tells what was chosen among several, or read with a letter mended.

    `coming` are the codes that the file itself brings. Of several that are meant the one `held` is taken.
    """

    def __init__(self, catalogue: Catalogue, coming: Collection[str] = (), held: Collection[str] = ()) -> None:
        self._catalogue, self._coming, self._held = catalogue, coming, held
        self.says: tuple[str, ...] = ()

    def read(self, row: Row, *columns: str, lists: Collection[str] = ()) -> Row:
        """Put the code in place of the name in each of the columns; in `lists`, of each name between semicolons.

        Raises PrepError naming the cell.
        """
        self.says = ()
        cells = {column: self._code(row, column, row.text(column)) for column in columns if row.text(column)}
        cells |= {column: ";".join(self._code(row, column, one) for one in row.list(column)) for column in lists}
        return row.with_cells(cells)

    def _code(self, row: Row, column: str, name: str) -> str:
        if name in self._coming or name in self._catalogue or name == WATER:
            return name
        try:
            chosen = choose_item(name, self._catalogue, held=self._held)
        except PrepError as problem:
            raise row.wrong(column, problem.sentence) from None
        self.says += (chosen.says,) if chosen.says else ()
        return chosen.item.code
