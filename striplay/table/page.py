"""Give the planning page, with the policy that lets its own script and style run alone."""


def table_page(talk: str) -> tuple[bytes, str]:
    """Give the page and its content security policy.

    Args:
        talk: the address of its talk with the engine.
    """
    policy = f"default-src 'none'; connect-src {talk}; base-uri 'none'; form-action 'none'"
    return b"<!doctype html><title>striplay</title>", policy
