"""The rule from needed water to needed flow, in words."""

from haulshed.demand.volume import DELIVERY_FROM_GAL, DELIVERY_GPM, LEAST_EXPOSED_GAL, LEAST_GAL


def delivery_text() -> str:
    """
    Return the least water, and the delivery table.

    Examples
    --------
    >>> delivery_text()[:76]
    'at least 2,000 gal, 3,000 with an exposure; delivered at 250 gpm under 2,500'
    """
    steps = [
        f"{gpm:,.0f} gpm under {below:,.0f} gal"
        for below, gpm in zip(DELIVERY_FROM_GAL, DELIVERY_GPM, strict=False)
    ]
    return (
        f"at least {LEAST_GAL:,.0f} gal, {LEAST_EXPOSED_GAL:,.0f} with an exposure;"
        f" delivered at {', '.join(steps)}, {DELIVERY_GPM[-1]:,.0f} gpm from there on"
    )
