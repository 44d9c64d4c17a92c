"""Results as JUnit XML, for continuous integration. Layer: service.cases.

One test suite; a test case an archived case, its class name the folder. A deviation is a ``failure``, a case that
could not be replayed an ``error``, a case left out after a failure ``skipped``.
"""

import re
from collections.abc import Sequence
from xml.etree import ElementTree

from service.cases.table import deviations_table
from service.cases.verification import BROKEN, FAILED, Result

_NOT_IN_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""Characters XML 1.0 has no way to write (2.2 Characters)."""
_MOST_PLACES = 3
"""Pointers named in a message; all stand in the table below it."""


def junit_xml(results: Sequence[Result], *, duration_s: float) -> bytes:
    """Return the XML document of a run."""
    counts = {
        "tests": len(results),
        "failures": sum(one.verdict in FAILED for one in results),
        "errors": sum(one.verdict in BROKEN for one in results),
        "skipped": sum(one.verdict == "not_run" for one in results),
    }
    head = {"name": "archived cases", **{key: str(count) for key, count in counts.items()}, "time": _s(duration_s)}
    whole = ElementTree.Element("testsuites", head)
    suite = ElementTree.SubElement(whole, "testsuite", head)
    for one in results:
        _add(suite, one)
    ElementTree.indent(whole, space=" ")
    return bytes(ElementTree.tostring(whole, encoding="utf-8", xml_declaration=True)) + b"\n"


def _add(suite: ElementTree.Element, result: Result) -> None:
    path = result.loaded.path
    place = {
        "name": _clean(result.loaded.name),
        "classname": _clean(".".join(path.parent.parts).replace("/", "") or "."),
        "file": _clean(path.as_posix()),
        "time": _s(result.duration_s),
    }
    row = ElementTree.SubElement(suite, "testcase", place)
    if result.verdict == "not_run":
        ElementTree.SubElement(row, "skipped", {"message": "not run after the first failure"})
    elif result.verdict != "same":
        kind = "failure" if result.verdict in FAILED else "error"
        told = [*result.faults, *deviations_table(result)]
        message = {"type": result.verdict, "message": _clean(_message(result))}
        ElementTree.SubElement(row, kind, message).text = _clean("\n".join(told))


def _message(result: Result) -> str:
    out = [one for one in result.replayed.deviations if not one.within] if result.replayed else []
    words = [*result.faults[:1]]
    if out:
        count = len(result.replayed.deviations if result.replayed else ())
        words.append(f"{len(out)} of {count} values are out: {_places([one.pointer for one in out])}")
    return "; ".join(words) or result.verdict


def _places(pointers: Sequence[str]) -> str:
    told = ", ".join(pointers[:_MOST_PLACES])
    return told if len(pointers) <= _MOST_PLACES else f"{told}, …"


def _clean(text: str) -> str:
    return _NOT_IN_XML.sub("\ufffd", text)


def _s(duration_s: float) -> str:
    return f"{duration_s:.6f}"
