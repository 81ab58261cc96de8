"""Give the planning page, with the policy that lets its own script and style run alone."""

from striplay.page.bind import policy_of


def table_page(talk: str) -> tuple[bytes, str]:
    """Give the page and its content security policy.

    Args:
        talk: the address of its talk with the engine.
    """
    return b"<!doctype html><title>striplay</title>", policy_of("", "", connect=talk)
