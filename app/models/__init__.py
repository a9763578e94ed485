"""Every table, imported once so that the metadata is whole."""

from app.models import (
    crib,
    customer,
    event,
    head,
    inspection,
    job,
    person,
    port_pass,
    reading,
    result,
    ring,
    search_key,
    setting,
    sheet,
    shop,
)

__all__ = [
    "crib",
    "customer",
    "event",
    "head",
    "inspection",
    "job",
    "person",
    "port_pass",
    "reading",
    "result",
    "ring",
    "search_key",
    "setting",
    "sheet",
    "shop",
]
