"""Workshop facts of the catalogue: operations, what follows an opening, and advice."""

from __future__ import annotations

from decimal import Decimal

from .catalogue import Advice, Consumable, Operation
from .index import FactIndex
from .terms import KO, local_name


def operations(index: FactIndex) -> dict[str, Operation]:
    """Every workshop operation, by IRI."""
    return {
        str(node): Operation(
            iri=str(node),
            label=index.label(node, local_name(node)),
            hours=index.decimal(node, KO.hours) or Decimal(0),
            opens=index.iris(node, KO.opens),
            after=index.iris(node, KO.after),
            irreversible=index.true(node, KO.irreversible),
        )
        for node in index.instances(KO.Operation)
    }


def consumables(index: FactIndex) -> dict[str, Consumable]:
    """Everything that is renewed because a station is opened, by IRI."""
    return {
        str(node): Consumable(
            iri=str(node),
            label=index.label(node, local_name(node)),
            count=index.text(node, KO["count"]),
            follows=index.iris(node, KO.followsOpening),
            price=index.decimal(node, KO.price),
        )
        for node in index.instances(KO.Consumable)
    }


def advice(index: FactIndex) -> dict[str, Advice]:
    """Every piece of advice, by IRI."""
    return {
        str(node): Advice(
            iri=str(node),
            says=says,
            when=frozenset(index.iris(node, KO.whenWith)),
            unless=frozenset(index.iris(node, KO.unlessWith)),
            sources=index.sources(node, KO.says, index.objects(node, KO.says)[0]),
        )
        for node in index.instances(KO.Advice)
        if (says := index.text(node, KO.says))
    }
