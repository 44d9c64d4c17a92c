"""The frame of the few HTML pages. Layer: service.edge."""

from html import escape

_STYLE = (
    "body{font:16px/1.5 system-ui,sans-serif;max-width:46rem;margin:2rem auto;padding:0 1rem;color:#1b2733}"
    "h1{font-size:1.4rem}h2{font-size:1.05rem;margin-bottom:0}"
    "table{border-collapse:collapse}td,th{text-align:left;padding:.2rem .8rem .2rem 0;vertical-align:top}"
)


def page(title: str, content: str) -> str:
    """Return a whole page; ``content`` is HTML, ``title`` is text."""
    return (
        "<!doctype html><html lang='en'><head><meta charset='utf-8'>"
        f"<meta name='viewport' content='width=device-width'><title>{escape(title)}</title><style>{_STYLE}</style>"
        f"</head><body><h1>{escape(title)}</h1>{content}</body></html>"
    )
