"""A document as one HTML page that asks nothing of any other host. Layer: service.report."""

from collections.abc import Callable
from html import escape
from importlib.resources import files

from service.report.document import (
    Block,
    Cell,
    Column,
    Document,
    Fact,
    Facts,
    Figure,
    Formula,
    Listing,
    Note,
    Number,
    Signatures,
    Table,
    Words,
)
from service.report.text import printable

TONES = {"finding": "Finding. ", "caution": "Caution. ", "note": "", "result": ""}


def html(document: Document) -> str:
    """Return the page; every number says in ``data-at`` where it stands in the answer or the request."""
    style = files("service.report").joinpath("style.css").read_text("utf-8")
    subject = f"<p class='subject'>{_text(document.subject)}</p>" if document.subject else ""
    occasion = f"<p class='occasion'>{_text(document.occasion)}</p>" if document.occasion else ""
    names = [f"s{i}" for i in range(len(document.sections))]
    contents = "".join(
        f"<li><a href='#{name}'>{_text(section.title)}</a></li>"
        for name, section in zip(names, document.sections, strict=True)
    )
    body = "".join(
        f"<section id='{name}'{_breaks(section.new_page, section.page_after)}><h2>{_text(section.title)}</h2>"
        + "".join(_block(one) for one in section.blocks)
        + "</section>"
        for name, section in zip(names, document.sections, strict=True)
    )
    return (
        "<!doctype html><html lang='en'><head><meta charset='utf-8'>"
        "<meta name='viewport' content='width=device-width, initial-scale=1'>"
        "<meta http-equiv='Content-Security-Policy' content=\"default-src 'none'; style-src 'unsafe-inline'\">"
        f"<title>{_text(document.title)}{' – ' if document.subject else ''}{_text(document.subject)}</title>"
        f"<style>{style}</style></head><body><header><h1>{_text(document.title)}</h1>{subject}{occasion}</header>"
        f"<nav><details><summary>Contents</summary><ol>{contents}</ol></details></nav><main>{body}</main>"
        f"<footer>{_text(document.foot)}</footer></body></html>"
    )


def _text(text: str) -> str:
    return escape(printable(text), quote=True)


def _breaks(before: bool, after: bool) -> str:
    classes = " ".join(["new-page"] * before + ["page-after"] * after)
    return f" class='{classes}'" if classes else ""


def _number(number: Number) -> str:
    at = f" data-at='{_text(number.at)}'" if number.at else ""
    return f"<span{at}>{_text(number.text)}</span>"


def _cell(cell: Cell) -> str:
    if cell is None:
        return ""
    return _number(cell) if isinstance(cell, Number) else f"<bdi>{_text(cell)}</bdi>"


def _table(table: Table) -> str:
    heads = "".join(
        f"<th scope='col'{_class(c)}>{_text(c.head)}"
        + (f"<br><span class='unit'>{_text(c.unit)}</span>" if c.unit else "")
        + "</th>"
        for c in table.columns
    )
    tall = f" style='height:{table.row_height_mm:.1f}mm'" if table.row_height_mm else ""
    rows = "".join(
        f"<tr{' class=sum' if i in table.emphasised else ''}{tall}>"
        + "".join(f"<td{_class(c)}>{_cell(one)}</td>" for c, one in zip(table.columns, row, strict=True))
        + "</tr>"
        for i, row in enumerate(table.rows)
    )
    caption = f"<caption>{_text(table.caption)}</caption>" if table.caption else ""
    kind = " class='by-hand'" if table.row_height_mm else ""
    return (
        f"<div class='scroll'><table{kind}>{caption}<thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table></div>"
    )


def _class(column: Column) -> str:
    kind = "n" if column.right else "w" if column.share >= 1.5 else "m" if column.share >= 1 else ""
    return f" class='{kind}'" if kind else ""


def _facts(facts: Facts) -> str:
    return f"<dl{' class=large' if facts.large else ''}>" + "".join(map(_fact, facts.rows)) + "</dl>"


def _fact(fact: Fact) -> str:
    unit = "" if not fact.unit else fact.unit if fact.unit == "°" else f" {fact.unit}"
    remark = f" <span class='remark'>{_text(fact.remark)}</span>" if fact.remark else ""
    return f"<div><dt>{_text(fact.label)}</dt><dd>{_cell(fact.value)}{_text(unit)}{remark}</dd></div>"


def _figure(figure: Figure) -> str:
    drawing = figure.svg.replace("<svg ", f"<svg aria-label='{_text(figure.alt)}' ", 1)
    size = f" style='max-width:{100 * figure.share:.0f}%'" if figure.share < 1 else ""
    return f"<figure{size}><div class='scroll'>{drawing}</div><figcaption>{_text(figure.caption)}</figcaption></figure>"


def _listing(listing: Listing) -> str:
    rows = "".join(f"<tr><td>{_text(place)}</td><td>{_text(what)}</td></tr>" for place, what in listing.rows)
    return (
        "<div class='scroll'><table class='listing'><thead><tr><th scope='col'>place</th>"
        f"<th scope='col'>what stands there</th></tr></thead><tbody>{rows}</tbody></table></div>"
    )


def _signatures(signatures: Signatures) -> str:
    line = "".join(f"<span>{words}</span>" for words in ("name in print", "signature", "date"))
    return "".join(f"<div class='sign'><b>{_text(role)}</b><p>{line}</p></div>" for role in signatures.roles)


def _block(block: Block) -> str:
    writers: dict[type[Block], Callable[..., str]] = {
        Table: _table,
        Facts: _facts,
        Figure: _figure,
        Words: lambda one: f"<p>{_text(one.text)}</p>",
        Formula: lambda one: f"<p class='formula'>{_text(one.text)}</p>",
        Note: lambda one: f"<p class='{one.kind}'><b>{TONES[one.kind]}</b>{_text(one.text)}</p>",
        Listing: _listing,
        Signatures: _signatures,
    }
    return writers[type(block)](block)
