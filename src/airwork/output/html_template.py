"""Pages of HTML from the templates of this package."""

from __future__ import annotations

from typing import Any

import jinja2

_ENVIRONMENT = jinja2.Environment(
    loader=jinja2.PackageLoader("airwork.output", "templates"), autoescape=True, undefined=jinja2.StrictUndefined,
    trim_blocks=True, lstrip_blocks=True,
)  # fmt: skip


def render(template: str, **values: Any) -> str:
    """A template with its values; text in them is escaped, a name that is missing is an error."""
    return _ENVIRONMENT.get_template(template).render(**values)
