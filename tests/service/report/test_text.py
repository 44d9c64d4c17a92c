"""Texts that hide or turn about are told by their numbers; long ones can be broken."""

import pytest

from service.report.text import breakable, printable


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("plain – Größe 船 מים", "plain – Größe 船 מים"),
        ("a\x00b\x1bc\n", "a⟨U+0000⟩b⟨U+001B⟩c⟨U+000A⟩"),
        ("safe\u202egnp.exe", "safe⟨U+202E⟩gnp.exe"),
        ("\ud800", "⟨U+D800⟩"),
        ("\ue000\u2028", "⟨U+E000⟩⟨U+2028⟩"),
    ],
)
def test_what_cannot_be_seen_is_told(text, shown):
    assert printable(text) == shown


def test_only_long_words_are_broken():
    assert breakable("double bottom ballast") == "double bottom ballast"
    long = "x" * 100
    broken = breakable(long)
    assert broken.replace("\u200b", "") == long
    assert max(map(len, broken.split("\u200b"))) <= 12
    assert breakable("tanks/0/contents/volume_m3").split("\u200b")[0] == "tanks/"
