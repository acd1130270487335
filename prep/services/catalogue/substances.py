"""Reads rows of substances.csv. On its own, because a calculation needs no more than this of the catalogue."""

from collections.abc import Iterable
from decimal import Decimal

from prep.chemistry.catalogue import UnreadSubstances
from prep.chemistry.model import Form, Substance, SubstanceName
from prep.errors import PrepError
from prep.safety.clp.harmonised import ClassificationBasis, completed
from prep.safety.clp.parse import classes_of, supplemental_of
from prep.safety.hazard_tables import keyed
from prep.services.files.csv_file import Row, number, positive, whole
from prep.services.input.checks import cas_number, flash_point, printable

SUBSTANCE_COLUMNS = (
    "code name other_names cas formula solute form assay_pct density_g_ml solubility_g_per_100g solubility_c "
    "classification supplemental flash_point_c storage_group disposal peroxide_class source assay_source "
    "density_source solubility_source hazard_basis hazard_source assay_half_width_pct half_width_source dry_c "
    "dry_minutes unfit found_against standard_source"
).split()
_FORMS = tuple(form.value for form in Form)
_BASES = tuple(basis.value for basis in ClassificationBasis)


def unread_substances(rows: Iterable[Row]) -> UnreadSubstances:
    """Read the names in rows of substances.csv now, and a row as a whole when its substance is asked for.

    Raises PrepError for a name that is wrong; of what else is wrong in a row, when that is read.
    """
    by_code = {row.code("code"): row for row in rows}
    return UnreadSubstances(map(_read_names, by_code.values()), lambda code: read_substance(by_code[code]))


def _read_names(row: Row) -> SubstanceName:
    code = row.code("code")
    return SubstanceName(
        code=code,
        name=row.text("name", required=True),
        formula=row.text("formula"),
        solute=row.text("solute") or code,
        form=Form(row.one_of("form", _FORMS)),
        other_names=row.list("other_names"),
        cas=row.text("cas"),
    )


def read_substance(row: Row) -> Substance:
    """Read one row of substances.csv; a blank classification is the harmonised entry's, by CAS number.

    Raises PrepError.
    """
    formula = row.text("formula")
    if formula:
        row.read("formula", _readable_formula)
    sources = {
        name: row.text(column)
        for name, column in (
            ("identity", "source"),
            ("assay", "assay_source"),
            ("density", "density_source"),
            ("solubility", "solubility_source"),
            ("hazard", "hazard_source"),
            ("assay half-width", "half_width_source"),
            ("standard", "standard_source"),
        )
        if row.text(column)
    }
    row.code("code")
    classes = row.read("classification", _known_classes) or ""
    row.one_of("hazard_basis", _BASES, "")
    names = _read_names(row)
    read = Substance(
        code=names.code,
        name=names.name,
        formula=names.formula,
        solute=names.solute,
        form=names.form,
        other_names=names.other_names,
        cas=row.read("cas", cas_number) or "",
        assay_pct=row.read("assay_pct", _percent),
        density_g_ml=row.read("density_g_ml", positive),
        solubility_g_per_100g=row.read("solubility_g_per_100g", positive),
        solubility_c=row.read("solubility_c", number),
        classification=row.text("classification"),
        supplemental=row.read("supplemental", _known_supplements) or "",
        flash_point_c=row.read("flash_point_c", lambda text: flash_point(text, classes)),
        storage_group=_word(row, "storage_group", "storage_groups", "group"),
        disposal=_word(row, "disposal", "disposal_streams", "stream"),
        peroxide_class=_word(row, "peroxide_class", "peroxide_classes", "peroxide_class"),
        assay_half_width_pct=row.read("assay_half_width_pct", _percent),
        dry_c=row.read("dry_c", number),
        dry_minutes=row.read("dry_minutes", whole) or 0,
        unfit=row.text("unfit"),
        found_against=row.text("found_against"),
        sources=sources,
    )
    return completed(read)


def _known_classes(text: str) -> str:
    classes_of(text)
    return text


def _known_supplements(text: str) -> str:
    supplemental_of(text)
    return text


def _word(row: Row, column: str, table: str, key: str) -> str:
    """Read a cell that is empty or a word of seed_data/tables/<table>.csv."""
    word = row.text(column)
    if word and word not in keyed(table, key):
        raise row.wrong(column, f'"{word[:40]}" is not one of: {", ".join(keyed(table, key))}.')
    return word


def _readable_formula(text: str) -> str:
    # The grammar is checked by the formulas module's own parser only when a mass is wanted: reading all of
    # them here would import the table of elements at every start.
    return printable(text, 100, "a formula")


def _percent(text: str) -> Decimal:
    if (value := positive(text)) > 100:
        raise PrepError(f'"{text}" is above 100 %.')
    return value
