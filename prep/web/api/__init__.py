"""The commands' documents under /api, for programs: a key per person, described by OpenAPI."""

from typing import Any

from prep.web.api import bookings_api, counts_api, demos_api, description, makes_api, orders_api, plan_api, stock_api


def subjects() -> list[Any]:
    """List the modules of the programs' interface, each with its routes."""
    return [description, plan_api, demos_api, bookings_api, makes_api, stock_api, orders_api, counts_api]
