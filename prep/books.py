"""The words of the books: the kinds of job, and the states of bottles, bookings, orders and counts."""

from enum import StrEnum


class JobKind(StrEnum):
    """What a job is, as its line in the history says."""

    OPENING = "opening"
    RECEIVE = "receive"
    IMPORT = "import"
    ARRIVE = "arrive"
    ORDER = "order"
    CANCEL = "cancel"
    USE = "use"
    DISCARD = "discard"
    MOVE = "move"
    CORRECT = "correct"
    STATUS = "status"
    RECALL = "recall"
    FOUND = "found"
    DECANT = "decant"
    WASTE = "waste"
    EMPTY = "empty"
    MAKE = "make"
    STANDARDISE = "standardise"
    DONE = "done"
    BOOK = "book"
    REBOOK = "rebook"
    SET_OUT = "set out"
    ALLOW = "allow"
    COUNT = "count"
    TALLY = "tally"
    COUNT_OPEN = "count open"
    COUNT_DROP = "count drop"
    SETTINGS = "settings"
    CATALOGUE = "catalogue"
    PEROXIDE_TEST = "peroxide test"
    PEROXIDE_TEST_WITHDRAWN = "peroxide test withdrawn"
    SHEET_CHECK = "data sheet"
    TRANSFER = "transfer"
    PEOPLE = "people"
    REPAIR = "repair"
    UPGRADE = "upgrade"
    UNDO = "undo"


class BottleStatus(StrEnum):
    """Whether a bottle may be used."""

    IN_SERVICE = "in service"
    QUARANTINE = "quarantine"
    DISCARDED = "discarded"


class BookingStatus(StrEnum):
    """Whether a booking still stands."""

    BOOKED = "booked"
    DONE = "done"
    CANCELLED = "cancelled"


class OrderStatus(StrEnum):
    """Whether an order is on its way."""

    PLACED = "placed"
    ARRIVED = "arrived"
    CANCELLED = "cancelled"


class CountStatus(StrEnum):
    """Whether a count takes entries, was signed, or was given up."""

    OPEN = "open"
    CLOSED = "closed"
    DROPPED = "dropped"


class HandOverSide(StrEnum):
    """Whether this school gave what was handed over, or took it."""

    GAVE = "gave"
    TOOK = "took"


class WasteStatus(StrEnum):
    """Whether a waste bottle takes more."""

    OPEN = "open"
    CLOSED = "closed"
