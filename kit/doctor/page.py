"""A diagnosis in a notebook. Everything that comes from outside is escaped: names off a disk are only text here."""

import html

__all__ = ["as_html"]


def as_html(diagnosis):
    """A piece of HTML that says what the report says, headings first.

    Parameters
    ----------
    diagnosis : Diagnosis

    Returns
    -------
    str
    """
    verdict, *rest = diagnosis.report().split("\n")
    change = rest[0] if rest else ""
    details = "\n".join(rest[1:]).strip()
    return (
        '<div role="group" aria-label="diagnosis">'
        f"<p><strong>{_safe(verdict)}</strong></p><p>{_safe(change)}</p>"
        f'<pre style="white-space:pre-wrap">{_safe(details)}</pre></div>'
    )


def _safe(text):
    """Text for a page: escaped, and without characters that are not seen or turn the direction of writing."""
    seen = "".join(c if c.isprintable() or c == "\n" else c.encode("unicode_escape").decode("ascii") for c in text)
    return html.escape(seen)
