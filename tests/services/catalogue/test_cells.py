"""A row of a list gives back what it was written from, so that a blank cell of an import keeps what is on file."""

from dataclasses import replace

from prep.services.catalogue import cells, seed
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.substances import read_substance
from prep.services.files.csv_file import Row


def test_every_shipped_substance_is_read_back_from_its_cells(catalogue: OnFile) -> None:
    for one in catalogue.substances.values():
        again = read_substance(Row("cells", 1, cells.substance_cells(one)))
        assert again == replace(one, method_steps=())
        assert again.sources == one.sources


def test_every_shipped_solution_is_read_back_from_its_cells(catalogue: OnFile) -> None:
    for one in catalogue.solutions.values():
        if not one.recipe:
            again = seed.read_solution(Row("cells", 1, cells.solution_cells(one)), {}, catalogue.substances)
            assert again == replace(one, method_steps=())
            assert again.sources == one.sources


def test_a_blank_cell_keeps_what_is_on_file_and_a_dash_clears_it(catalogue: OnFile) -> None:
    salt = catalogue.substances["sodium-chloride"]
    given = {"code": salt.code, "name": "Table salt", "formula": "", "cas": "-"}
    again = read_substance(Row("ours.csv", 2, given).over(cells.substance_cells(salt)))
    assert salt.cas
    assert (again.name, again.formula, again.cas) == ("Table salt", salt.formula, "")
    assert again.sources["assay"] == salt.sources["assay"]
