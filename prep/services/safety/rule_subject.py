"""Finding by name what a school's rule is about. A plan by the rules looks up no name, and does not load this."""

from collections.abc import Mapping

from prep.chemistry.catalogue import Catalogue
from prep.errors import NotOnFile
from prep.planning.model import Demo
from prep.safety.school_rules import SchoolRule
from prep.services.bookings.requests import find_demo_in
from prep.services.catalogue.names import find_item


def rule_about(item: str, demo: bool, catalogue: Catalogue, demos: Mapping[str, Demo]) -> SchoolRule:
    """Find what a rule is about: a solute by its code, with its solutions; else a substance, solution or demo by name.

    `demo` says that a demonstration is named. Raises PrepError.
    """
    wanted = item.strip()
    if demo:
        return SchoolRule("", demo=find_demo_in(demos, wanted).code)
    if any(one.solute == wanted for one in catalogue.substances.values()):
        return SchoolRule(wanted)
    try:
        return SchoolRule(find_item(wanted, catalogue).code)
    except NotOnFile as unknown:
        try:
            return SchoolRule("", demo=find_demo_in(demos, wanted).code)
        except NotOnFile:
            raise unknown from None
