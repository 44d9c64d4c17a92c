"""What keeps a verdict from being plain, short of a fault: differences and findings. Layer: service.schemas."""

from collections.abc import Sequence
from typing import NamedTuple

from service.schemas.diagnosis import CrossCheck
from service.schemas.plain_words import count, in_words

PREDICTED = "-against-predicted"
LOOK_AT = {
    "displacement-against-predicted": "the heights measured from, the density, the hull, what is aboard",
    "lcg-against-predicted": "the places and heights of the freeboards forward and aft, the hull, what is aboard",
    "vcg-against-predicted": "the masses and arms of the weights, the lengths of the instruments, the free surfaces, "
    "what is aboard and how high",
    "marks-against-freeboards": "the zeros of the marks and the heights the freeboards are measured from",
    "instrument-against-the-others": "its length, spread or scale",
    "zeros": "weights not back in their places, liquids that moved, lines that came taut",
}
"""What a check depends on, in the order a surveyor would look."""


def of_prediction(check: CrossCheck) -> bool:
    """Whether it holds the test against what was expected of the ship: she may have changed."""
    return check.name.endswith(PREDICTED)


class Doubt(NamedTuple):
    """Evidence of an error that no diagnosis has named.

    Attributes
    ----------
    crossed : sequence of CrossCheck
        Those that disagree.
    inputs : sequence of str
        Findings that put an input in doubt.
    """

    crossed: Sequence[CrossCheck] = ()
    inputs: Sequence[str] = ()

    def __bool__(self) -> bool:
        return bool(self.crossed or self.inputs)

    @property
    def _of_ship(self) -> list[CrossCheck]:
        return [one for one in self.crossed if of_prediction(one)]

    @property
    def _of_record(self) -> list[CrossCheck]:
        return [one for one in self.crossed if not of_prediction(one)]

    def reasons(self) -> list[str]:
        """Return each kind in a clause: what differs, disagrees or is in doubt."""
        found = []
        if self._of_ship:
            names = [
                one.name.removesuffix(PREDICTED).replace("lcg", "LCG").replace("vcg", "VCG") for one in self._of_ship
            ]
            verb = "differs" if len(names) == 1 else "differ"
            found.append(f"{_listed(names)} {verb} from the prediction by more than the uncertainty of both")
        if self._of_record:
            verb = "disagrees" if len(self._of_record) == 1 else "disagree"
            found.append(f"{count(len(self._of_record), 'cross-check', verb=False)} of the record {verb}")
        if self.inputs:
            found.append(f"{count(len(self.inputs), 'input')} in doubt")
        return found

    def statement(self) -> str:
        """Return the reasons as one sentence, with what a difference from the prediction may mean."""
        words = f"Not known: {'; '.join(self.reasons())}."
        if self._of_ship:
            words += " Either she has changed or an input is wrong."
        return words

    def evidence(self) -> list[str]:
        """Return a line for each, with the numbers and where to look."""
        lines = []
        for one in self.crossed:
            unit = "" if one.unit == "1" else f" {one.unit}"
            who = "" if one.instrument is None else f"instrument {one.instrument}: "
            told = f"{who}{one.message}: {one.value:+.3g}{unit}, limit {one.limit:.3g}{unit}"
            look = f"check {LOOK_AT[one.name]}"
            if one in self._of_ship:
                lines.append(
                    f"differs from the prediction: {told}: either she has changed or an input is wrong; {look}"
                )
            else:
                lines.append(f"disagrees: {in_words(one.name)}: {told}; {look}")
        return [*lines, *(f"in doubt: {one}" for one in self.inputs)]


NO_DOUBT = Doubt()


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
