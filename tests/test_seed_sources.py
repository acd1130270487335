"""Every published work that a row of seed_data/ names stands in its data page, so that none is forgotten."""

import csv
import re
from collections.abc import Iterator

import pytest

from prep.resources import seed_data

WORKS = {
    r"29 CFR|OSHA C\.": "29 CFR 1910.1200",
    r"29 CFR 1910\.253": "29 CFR 1910.253",
    r"40 CFR": "40 CFR 265",
    r"49 CFR": "49 CFR 172, 173 and 177",
    r"ACS Reagent": "ACS Reagent Chemicals",
    r"ASTM E200": "ASTM E200",
    r"American Chemical Society": "American Chemical Society, Incompatible Chemicals",
    r"Alberta Education": "Alberta Education, Chemistry 30 Data Booklet",
    r"APHA": "APHA Standard Methods",
    r"Astbury": "Astbury et al., IChemE Symposium Series 150 (2004)",
    r"Australia's list": "Australia's list (HCIS)",
    r"R\. G\. Bates": "Bates, Determination of pH",
    r"Beringer": "Beringer, A Text-Book of Assaying",
    r"Bishop": "Bishop, Indicators",
    r"Bretherick": "Bretherick's Handbook of Reactive Chemical Hazards",
    r"British Pharmacopoeia": "British Pharmacopoeia",
    r"CAS Registry": "CAS Registry",
    r"CRC Handbook": "CRC Handbook of Chemistry and Physics",
    r"Control of Explosives": "Control of Explosives Precursors and Poisons Regulations 2023 (S.I. 2023/63)",
    r"Cornell EHS": "Cornell EHS",
    r"Council Directive": "Council Directive 92/83/EEC",
    r"ECHA Guidance": "ECHA, Guidance on the Application of the CLP Criteria",
    r"EPA-600|EPA cell": "EPA-600/2-80-076",
    r"European Pharmacopoeia": "European Pharmacopoeia",
    r"Fifield": "Fifield & Kealey, Principles and Practice of Analytical Chemistry",
    r"Foster": "Foster & Gruntfest, Journal of Chemical Education 14 (1937)",
    r"Goldberg": "Goldberg, Kishore & Lennen, J. Phys. Chem. Ref. Data 31 (2002) 231",
    r"Gomori": "Gomori, Methods in Enzymology 1 (1955)",
    r"Gornall": "Gornall, Bardawill & David, Journal of Biological Chemistry",
    r"Home Office": "Home Office, Supplying explosives precursors and poisons",
    r"ISO \d": "ISO 385, 648, 835, 1042, 4788, 8655",
    r"IUPAC Nomenclature of Inorg|IUPAC Red Book": "IUPAC, Nomenclature of Inorganic Chemistry (2005)",
    r"IUPAC Nomenclature of Org": "IUPAC, Nomenclature of Organic Chemistry (2013)",
    r"International Chemical Safety Card": "International Chemical Safety Card 0215",
    r"Iowa State": "Iowa State University EHS",
    r"Japan's list": "Japan's list (NITE)",
    r"Klinger": "Klinger et al., Chemical & Engineering News 74(2)",
    r"Laliberte,": "Laliberté, J. Chem. Eng. Data 54 (2009) 1725",
    r"Laliberte and Cooper": "Laliberté & Cooper, J. Chem. Eng. Data 49 (2004) 1141",
    r"Lange's": "Lange's Handbook of Chemistry",
    r"Lister": "Lister, Classic Chemistry Demonstrations",
    r"McIlvaine": "McIlvaine, J. Biol. Chem. 49 (1921) 183",
    r"Merck Index": "The Merck Index",
    r"Morris": "Morris, The acid ionization constant of HOCl",
    r"NBS Tables": "The NBS Tables of Chemical Thermodynamic Properties",
    r"NFPA 325": "NFPA 325",
    r"NFPA 497": "NFPA 497",
    r"NIST Critically": "NIST Critically Selected Stability Constants",
    r"Nogueira": "Nogueira & Serodio, Accreditation and Quality Assurance 8 (2003)",
    r"OIML R": "OIML R 22",
    r"OpenStax": "OpenStax, Chemistry 2e",
    r"Perry's": "Perry's Chemical Engineers' Handbook",
    r"Poisons Act": "Poisons Act 1972",
    r"Prudent Practices|National Research Council": "Prudent Practices in the Laboratory",
    r"PubChem": "PubChem",
    r"Regulation \(EC\) No 111/2005": "Regulation (EC) No 111/2005",
    r"Regulation \(EC\) No 1272/2008|\bCLP\b": "Regulation (EC) No 1272/2008",
    r"Regulation \(EC\) No 273/2004": "Regulation (EC) No 273/2004",
    r"Regulation \(EU\) 2019/1148": "Regulation (EU) 2019/1148",
    r"Regulation \(EU\) 2017/852": "Regulation (EU) 2017/852",
    r"Regulation \(EU\) 2023/707": "Regulation (EU) 2023/707",
    r"Riddick": "Riddick, Bunger & Sakano, Organic Solvents",
    r"Robinson and Stokes": "Robinson & Stokes, Electrolyte Solutions",
    r"Seidell": "Seidell & Linke, Solubilities",
    r"Shakhashiri": "Shakhashiri, Chemical Demonstrations",
    r"Stanford": "Stanford University Biosafety Manual",
    r"TRGS 201": "TRGS 201",
    r"Tanaka": "Tanaka et al., Metrologia 38 (2001)",
    r"UN GHS": "UN GHS",
    r"UN Model|\bUN \d{4}": "UN Model Regulations",
    r"United States Pharmacopeia": "United States Pharmacopeia",
    r"University of Oxford": "University of Oxford Safety Office, memoranda M11/08 and M11/14",
    r"US National Library": "US National Library of Medicine, Hazardous Substances Data Bank",
    r"VDI": "VDI Heat Atlas",
    r"Vogel, F|Vogel's": "Vogel",
    r"National Formulary": "National Formulary",
    r"G\. C\. White": "White, Handbook of Chlorination",
    r"ASTM E288|ASTM E969": "ASTM E288 and E969",
    r"Eichordnung": "Verification Ordinance of Germany (Eichordnung), Annex 12",
    r"R\. D\. Lillie": "Lillie, Conn's Biological Stains",
}
"""How a source writes a work -> how the data page names it."""

REMARKS = re.compile(
    r"([a-z -]+: )?(from memory: )?("
    r"[a-z0-9%]|pK|H\d{3}|EUH\d{3}|Ca \+|Art\.|Annex |Eye (Dam|Irrit)\. |Skin Corr\. "
    r"|[A-Z][A-Za-z/ ():-]+: Category )"
)
"""How a part of a source begins that names no work: a remark, an article, a class in two governments' lists."""


def _sources() -> Iterator[tuple[str, str]]:
    for path in sorted(seed_data().rglob("*.csv")):
        if path.parent.name == "school":  # invented, and says so
            continue
        with path.open(encoding="utf-8", newline="") as file:
            for row in csv.DictReader(file):
                for column, text in row.items():
                    if "source" in (column or "") and text:
                        yield path.name, text


SOURCES = sorted(set(_sources()))
PAGE = (seed_data() / "README.md").read_text(encoding="utf-8")
PLAIN = " ".join(PAGE.replace("*", "").split())


@pytest.mark.parametrize("pattern", WORKS)
def test_a_work_that_rows_name_stands_in_the_data_page(pattern: str) -> None:
    assert any(re.search(pattern, text) for _, text in SOURCES), "no row names it any more: take it off the page"
    assert WORKS[pattern] in PLAIN


def test_no_row_names_a_work_that_is_not_listed() -> None:
    works = re.compile("|".join(WORKS))
    parts = {(name, part) for name, text in SOURCES for part in re.split(r";\s+", text)}
    assert not sorted((n, part) for n, part in parts if not works.search(part) and not REMARKS.match(part))


def test_from_memory_and_common_practice_are_explained() -> None:
    assert "common practice, no source" in PLAIN
    assert "from memory:" in PLAIN
