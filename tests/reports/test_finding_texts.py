"""A finding is the same document, sentence and lines wherever it is shown."""

import pytest

from prep.findings import Finding, Severity
from prep.reports.finding_texts import finding_document, show_findings, with_cure

DUE = Finding(Severity.ACT, "test-due", "E4T8", "Ether is due on 2027-01-11.", "Test it by 2027-01-18.", "a rule")


def test_a_finding_has_its_cure_and_its_source_only_where_there_is_one() -> None:
    assert finding_document(DUE) == {
        "severity": "act",
        "code": "test-due",
        "about": "E4T8",
        "message": "Ether is due on 2027-01-11.",
        "cure": "Test it by 2027-01-18.",
        "source": "a rule",
    }
    assert {*finding_document(Finding(Severity.NOTE, "x", "y", "z"))} == {"severity", "code", "about", "message"}


def test_days_are_written_as_a_person_reads_them_in_the_cure_too(capsys: pytest.CaptureFixture[str]) -> None:
    assert with_cure(DUE) == "Ether is due on Mon 11 Jan 2027. -> Test it by Mon 18 Jan 2027."
    show_findings([DUE], "Nothing.")
    assert capsys.readouterr().out.splitlines() == [
        "ACT   Ether is due on Mon 11 Jan 2027.",
        "      -> Test it by Mon 18 Jan 2027.",
        "      [a rule]",
    ]
    show_findings([], "Nothing.", indent=2)
    assert capsys.readouterr().out == "  Nothing.\n"
