"""Write the accounts as JSON."""

import json
from collections.abc import Mapping
from typing import Any

from striplay.files.content import Content
from striplay.plain import escaped


def encode(content: Content) -> dict[str, bytes]:
    """Give accounts.json."""
    return {"accounts.json": accounts_text(content.accounts).encode()}


def accounts_text(accounts: Mapping[str, Any]) -> str:
    """Write accounts as JSON text, as accounts.json and --json hold it."""
    text = json.dumps(accounts, indent=2, ensure_ascii=False, allow_nan=False)
    return escaped(text) + "\n"
