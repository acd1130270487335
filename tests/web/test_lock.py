"""While a form of the page holds the writers' lock, nothing is imported and nothing that was typed is read."""

import os

import pytest

from prep.services.people.roles import Role
from tests.lock_probe import each_alone
from tests.web.conftest import As

pytestmark = pytest.mark.on_file

FORMS = (
    (Role.TECHNICIAN, "/bottles/G7P4/use", {"amount": "1 mL"}, "/bottles/G7P4"),
    (Role.TECHNICIAN, "/bottles/G7P4/correct", {"note": "n", "use_by": "2027-07-06"}, "/bottles/G7P4"),
    (Role.TECHNICIAN, "/bottles/G7P4/decant", {"amount": "10 mL"}, "/bottles/G7P4"),
    (Role.TECHNICIAN, "/bottles/G7P4/status", {"status": "quarantine"}, "/bottles/G7P4"),
    (Role.TECHNICIAN, "/orders", {"item": "sodium chloride", "packs": "1", "pack": "500 g"}, "/orders/new"),
    (
        Role.TECHNICIAN,
        "/receive",
        {"item": "urea", "amount": "250 g", "bottles": "1", "location": "PREP"},
        "/receive",
    ),
    (Role.TEACHER, "/book", {"demo": "blue-bottle", "on": "2027-02-03", "room": "S3", "book": "1"}, "/book"),
    (Role.AUDITOR, "/counts", {"location": "DIL"}, "/counts"),
    (Role.AUDITOR, "/counts/C1/found", {"item": "urea", "amount": "5 g", "place": "DIL"}, "/counts/C1"),
    (Role.AUDITOR, "/counts/C1/close", {"partial": "1", "as_counted": "1"}, "/counts/C1"),
    (Role.OFFICE, "/settings/places", {"code": "X1", "name": "The shed"}, "/settings"),
    (Role.OFFICE, "/settings/kept", {"item": "sodium chloride", "minimum": "100 g"}, "/settings"),
    (Role.OFFICE, "/settings/closed", {"first": "2027-05-03", "last": "2027-05-04", "why": "fair"}, "/settings"),
    (Role.OFFICE, "/people", {"name": "B. Quill", "roles": "technician"}, "/people"),
)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="a process for each form is forked")
def test_no_form_imports_or_reads_under_the_lock(signed_in: As) -> None:
    secrets = {role: signed_in(role).secret for role in {form[0] for form in FORMS}}
    found = each_alone("page", [[secrets[role], path, fields, on] for role, path, fields, on in FORMS])
    assert [one for one in found if one["code"] or not one["under"] or any(one["under"])] == []
