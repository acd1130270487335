"""The ways a command can end other than well; each carries one sentence for the person.

Any floor may raise them. What is wrong with the *plan* is data instead (`prep.findings.Finding`).
"""

from prep.wording import AtTerminal, Sentence


class PrepError(Exception):
    """Bad input or usage: the sentence says what is wrong, where, and what would be accepted.

    Its options and commands are parts of their own, so that each surface says them in its own words.
    """

    exit_code = 2

    def __init__(self, *parts: str) -> None:
        """Put the sentence together from text, options and words for a terminal."""
        super().__init__(Sentence(*parts))

    @property
    def sentence(self) -> Sentence:
        """What it says, in its parts."""
        said: Sentence = self.args[0]
        return said


class NotOnFile(PrepError):
    """What was named is not there: no such bottle, booking, count, order, item or person."""


class Misspelt(NotOnFile):
    """What was named is not there, but something of nearly its name is, which the sentence tells."""


class SeveralFit(PrepError):
    """What was named may be several things on file: one of their codes is wanted."""


class NoEquivalents(PrepError):
    """A strength in equivalents of what is not known to have any."""


class NoInventory(PrepError):
    """Nothing was made yet where an inventory is looked for."""

    def __init__(self, *parts: str) -> None:
        """Say where nothing is, and what makes an inventory."""
        super().__init__(*parts, "; make one", AtTerminal(" with: prep init"))


class NotWritable(PrepError):
    """The books may be read by whoever asks, and not written."""


class Refused(PrepError):
    """A well-put question whose answer is no: a shortage, a failed check."""

    exit_code = 1
