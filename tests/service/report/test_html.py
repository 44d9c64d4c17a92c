"""The HTML page: numbers equal to the JSON, texts that stay texts, nothing from another host."""

import json
import re
from html.parser import HTMLParser

import pytest

from service.report.html import html
from service.report.numbers import DECIMALS, MINUS, US_UNITS, read_back
from service.report.stability_test import stability_test_report

VOID = {"meta", "br"}


class Page(HTMLParser):
    """What a reader of the page finds: numbers with their places, texts, tags and attributes."""

    def __init__(self, source: str) -> None:
        super().__init__(convert_charrefs=True)
        self.numbers, self.tags, self.attributes, self.texts, self._open = [], [], [], [], []
        self.feed(source)
        self.close()
        assert self._open == []  # every element is closed, in order

    def handle_starttag(self, tag, attrs):  # noqa: D102
        self.tags.append(tag)
        self.attributes += attrs
        if tag not in VOID:
            self._open.append((tag, dict(attrs).get("data-at")))

    def handle_startendtag(self, tag, attrs):  # noqa: D102
        self.tags.append(tag)
        self.attributes += attrs

    def handle_endtag(self, tag):  # noqa: D102
        assert self._open.pop()[0] == tag

    def handle_data(self, data):  # noqa: D102
        self.texts.append(data)
        if self._open and self._open[-1][1]:
            self.numbers.append((self._open[-1][1], data))


def page(asked, units="si"):
    return Page(html(stability_test_report(asked.request, asked.answer, units)))


def sent_of(asked):
    """Return request and answer as their JSON."""
    return {
        "answer": json.loads(asked.answer.model_dump_json(exclude_none=True)),
        "request": json.loads(asked.request.model_dump_json(exclude_none=True)),
    }


def at(sent, place):
    """Return what the JSON has at a place."""
    root, *path = place.split("/")
    found = sent[root]
    for key in path:
        found = found[int(key)] if isinstance(found, list) else found[key]
    return found["value"] if isinstance(found, dict) else found


@pytest.mark.parametrize("which", ["demo", "awkward"])
def test_every_number_equals_the_json_to_its_printed_digits(request, which):
    asked = request.getfixturevalue(which)
    numbers, sent = page(asked).numbers, sent_of(asked)
    assert len(numbers) > 300
    for place, text in numbers:
        true = at(sent, place)
        if "×10" in text:
            mantissa, _, power = text.partition("×10")
            step = read_back(f"1×10{power}") * 10.0 ** -len(mantissa.partition(".")[2])
            assert len(mantissa.strip("−")) >= 4, (place, text)  # three digits at least
            assert abs(read_back(text) - true) <= 0.5000001 * step, (place, text, true)
            continue
        decimals = len(text.partition(".")[2])
        coarse = 10 if "." not in text and abs(true) >= 1000 else 1  # an uncertainty of hundreds ends at the tens
        assert abs(read_back(text) - true) <= 0.5000001 * coarse * 10.0**-decimals, (place, text, true)


def test_us_numbers_equal_the_json(demo):
    lengths = masses = eighths = 0
    sent = sent_of(demo)
    for place, text in page(demo, "us").numbers:
        true, name = at(sent, place), re.sub("/[0-9]+", "", place).rsplit("/", 1)[-1]
        if re.fullmatch(f"{MINUS}?[0-9]+-[01][0-9]-[0-7]", text):
            assert abs(read_back(text) - true) <= 0.0254 / 16 * 1.000001, place
            eighths += 1
        elif re.search("[a-z0-9]_m$", name) and name != "residual_m":
            assert abs(read_back(text) * 0.3048 - true) <= 0.51 * 0.3048 * 10.0 ** -len(text.partition(".")[2]), place
            lengths += 1
        elif name.endswith("_t"):
            step = 10.0 ** -len(text.partition(".")[2])
            assert abs(read_back(text) * 1.0160469088 - true) <= 0.51 * 1.0160469088 * step, place
            masses += 1
    assert min(lengths / 50, masses / 20, eighths / 10) > 1


def test_no_number_is_minus_zero(demo, awkward):
    for asked in (demo, awkward):
        for text in page(asked).texts:
            assert not re.search(f"[{MINUS}-]0(\\.0+)?(?![0-9.])", text), text


def test_hostile_texts_stay_texts(awkward, awkward_module):
    found = page(awkward)
    joined = "".join(found.texts)
    for text in awkward_module.HOSTILE:
        assert text in joined
    assert awkward.record["vessel"]["name"] in joined
    assert "safe⟨U+202E⟩gnp.exe" in joined
    assert "\u202e" not in joined
    assert not {"script", "b", "u", "i"} & set(found.tags) - {"b"}
    assert found.tags.count("b") == page_bold_count(awkward)


def page_bold_count(asked):
    """Bold leads of notes and of signatures are the only <b> there are."""
    from service.report.document import Note, Signatures

    blocks = list(stability_test_report(asked.request, asked.answer).blocks())
    signed = sum(len(one.roles) for one in blocks if isinstance(one, Signatures))
    return sum(isinstance(one, Note) for one in blocks) + signed


def test_foreign_names_are_whole(awkward, awkward_module):
    joined = "".join(page(awkward).texts)
    for text in (*awkward_module.FOREIGN, awkward_module.UNBROKEN[:200], awkward_module.LONG[:200]):
        assert text in joined


def test_nothing_from_another_host(awkward):
    source = html(stability_test_report(awkward.request, awkward.answer))
    found = Page(source)
    links = [value for name, value in found.attributes if name in ("src", "href", "xlink:href", "action", "srcset")]
    assert links
    assert all(value.startswith("#") for value in links)
    assert not {"link", "img", "iframe", "object", "embed", "base", "form", "script"} & set(found.tags)
    assert not any(name.startswith("on") for name, _ in found.attributes)
    style = source.split("<style>")[1].split("</style>")[0]
    assert "url(" not in style
    assert "@import" not in style
    assert re.findall("https?://[^\"' <]+", source) == ["http://www.w3.org/2000/svg"] * found.tags.count("svg")
    assert ("content", "default-src 'none'; style-src 'unsafe-inline'") in found.attributes


def numbers_in(value):
    if isinstance(value, dict):
        for one in value.values():
            yield from numbers_in(one)
    elif isinstance(value, list):
        for one in value:
            yield from numbers_in(one)
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        yield float(value)


@pytest.mark.parametrize("which", ["demo", "awkward"])
def test_every_raw_number_of_the_record_is_in_the_appendix(request, which):
    asked = request.getfixturevalue(which)
    source = html(stability_test_report(asked.request, asked.answer))
    appendix = source[source.index("<h2>Appendix: the record as sent") :]
    printed = {
        float(one.replace(MINUS, "-")) for one in re.findall(f"{MINUS}?[0-9]+(?:\\.[0-9]+)?(?:e-?[0-9]+)?", appendix)
    }
    wanted = set(numbers_in(asked.record))
    assert len(wanted) > 1000
    assert wanted <= printed


def test_every_entry_of_the_record_has_its_place_in_the_appendix(awkward):
    source = html(stability_test_report(awkward.request, awkward.answer))
    for name, entries in awkward.record.items():
        for i in range(len(entries)) if isinstance(entries, list) else ():
            assert f"<td>{name}/{i}</td>" in source


def test_decimals_are_told_for_every_unit():
    from engine.quantities import SUFFIX_UNITS

    assert set(SUFFIX_UNITS.values()) - {"1/(t·m)"} <= set(DECIMALS)
    from service.edge.csv_table import US_SUFFIXES

    assert {us for us, _ in US_SUFFIXES.values()} <= set(US_UNITS)


def test_pictures_say_what_they_show(demo):
    found = page(demo)
    labels = [value for name, value in found.attributes if name == "aria-label"]
    assert len(labels) == found.tags.count("svg") >= 4
    assert all(len(one) > 20 for one in labels)
