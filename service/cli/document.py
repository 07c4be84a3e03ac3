"""The OpenAPI document as text."""

import yaml

from service.api import openapi
from service.app import NOUNS


def text() -> str:
    """The document as YAML; the same for every interpreter."""
    return yaml.safe_dump(openapi.document(NOUNS), sort_keys=False, allow_unicode=True, width=120)
