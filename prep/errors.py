"""The ways a command can end other than well; each carries one sentence for the person.

Any floor may raise them. What is wrong with the *plan* is data instead (`prep.findings.Finding`).
"""


class PrepError(Exception):
    """Bad input or usage: the sentence says what is wrong, where, and what would be accepted."""

    exit_code = 2


class NotOnFile(PrepError):
    """What was named is not there: no such bottle, booking, count, order, item or person."""


class Refused(PrepError):
    """A well-put question whose answer is no: a shortage, a failed check."""

    exit_code = 1
