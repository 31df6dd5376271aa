"""Synthetic generations as TriG: the same statements, in the same shape, as the demo's files."""

from __future__ import annotations

from collections.abc import Iterator

from .line import DRAWINGS, SHEETS, Car, End, Family, Generation, Part, code
from .plans import CONTACTS

PREFIXES = """@prefix ko:     <https://knockon.example/ns#> .
@prefix st:     <https://knockon.example/station/> .
@prefix role:   <https://knockon.example/role/> .
@prefix form:   <https://knockon.example/form/> .
@prefix fam:    <https://knockon.example/family/> .
@prefix part:   <https://knockon.example/part/> .
@prefix end:    <https://knockon.example/end/> .
@prefix set:    <https://knockon.example/set/> .
@prefix line:   <https://knockon.example/line/> .
@prefix gen:    <https://knockon.example/generation/> .
@prefix car:    <https://knockon.example/car/> .
@prefix src:    <https://knockon.example/source/> .
@prefix maker:  <https://knockon.example/maker/> .
@prefix who:    <https://knockon.example/who/> .
@prefix owl:    <http://www.w3.org/2002/07/owl#> .
@prefix prov:   <http://www.w3.org/ns/prov#> .
@prefix rdfs:   <http://www.w3.org/2000/01/rdf-schema#> .
@prefix skos:   <http://www.w3.org/2004/02/skos/core#> .
@prefix schema: <https://schema.org/> .
@prefix xsd:    <http://www.w3.org/2001/XMLSchema#> .
"""
_WORDS = frozenset(
    (
        "fitCode",
        "fitClass",
        "thread",
        "seatForm",
        "pattern",
        "unionSeat",
        "connectorFamily",
        "key",
        "signalQuantity",
        "signalForm",
    )
)
"""Quantities whose values are words; all others are numbers."""


def generation_text(gen: Generation) -> Iterator[str]:
    """The file of one generation, piece by piece."""
    yield f"# Synthetic catalogue: line {gen.line}, generation {gen.place}. Invented data.\n\n"
    yield PREFIXES
    yield f"\nsrc:{DRAWINGS} {{\n"
    yield from _heads(gen)
    for name, label in gen.sets:
        yield f'set:{name} a ko:MatchedSet ; skos:prefLabel "{label}"@en .\n'
    yield from _of_source(gen, DRAWINGS)
    for car in gen.cars:
        yield from _car(gen, car)
    yield "}\n"
    for source in sorted(_sources(gen) - {DRAWINGS}):
        yield f"\nsrc:{source} {{\n"
        yield from _of_source(gen, source)
        yield "}\n"


def _sources(gen: Generation) -> set[str]:
    return (
        {e.source for e in gen.ends}
        | {f.source for f in gen.families}
        | {p.source for p in gen.parts}
        | {s for s, _ in gen.loose}
    )


def _of_source(gen: Generation, source: str) -> Iterator[str]:
    for family in gen.families:
        if family.source == source:
            yield _family(family)
    for end in gen.ends:
        # What an end is, its maker says; a presumed end has only its values presumed.
        if end.source == source:
            yield _end(end, values=True, itself=source in (DRAWINGS, SHEETS))
        elif source == SHEETS and end.source != DRAWINGS:
            yield _end(end, values=False, itself=True)
    for part in gen.parts:
        if part.source == source:
            yield _part(part)
    for of, text in gen.loose:
        if of == source:
            yield text + "\n"


def _heads(gen: Generation) -> Iterator[str]:
    name, label = code(gen.line), code(gen.line).upper()
    if gen.place == 1:
        yield f'line:{name} a ko:Line ; skos:prefLabel "Ostrel Line {gen.line:03d}"@en .\n'
    first = 1960 + 8 * gen.place
    yield (
        f'gen:{name}-g{gen.place} a ko:Generation ; skos:prefLabel "{label} G{gen.place}"@en ;\n'
        f"    ko:ofLine line:{name} ; ko:fromYear {first} ; ko:toYear {first + 7} .\n"
    )


def _restriction(on: str, value: str) -> str:
    return f"[ a owl:Restriction ; owl:onProperty ko:{on} ; owl:hasValue {value} ]"


def _family(family: Family) -> str:
    classes = [f"fam:{parent}" for parent in family.parents]
    classes.append(_restriction("ofFamily", f"fam:{family.name}"))
    classes += [_restriction("hasEnd", f"end:{end}") for end in family.ends]
    links = [("ko:requires", f"fam:{family.asks}")] if family.asks else []
    if family.tolerance:
        quantity, amount = family.tolerance
        links.append(("ko:ownTolerance", f"[ ko:onQuantity ko:{quantity} ; ko:amount {amount} ]"))
    links += [(f"ko:{name}", value) for name, value in family.attributes]
    more = "".join(f" ;\n    {p} {o}" for p, o in links)
    return (
        f'fam:{family.name} a owl:Class , ko:Family ; skos:prefLabel "{family.label}"@en-GB ;\n'
        "    rdfs:subClassOf " + " ,\n        ".join(classes) + f"{more} .\n"
    )


def any_family(station: str) -> str:
    """The family of all parts of a station."""
    restrictions = (
        _restriction("ofFamily", f"fam:any-{station}"),
        _restriction("sitsAt", f"st:{station}"),
    )
    return (
        f'fam:any-{station} a owl:Class , ko:Family ; skos:prefLabel "all {station.replace("-", " ")} parts"@en-GB ;\n'
        "    rdfs:subClassOf ko:Part ,\n        " + " ,\n        ".join(restrictions) + " .\n"
    )


def _end(end: End, *, values: bool, itself: bool) -> str:
    pieces: list[str] = []
    if itself:
        pieces.append(f"a ko:{end.kind}")
        pieces.append(f"ko:role role:{end.role}")
        if end.side:
            pieces.append(f"ko:side ko:{end.side}")
    if values:
        pieces += [_value(quantity, text) for quantity, text in end.values]
        if end.extra:
            pieces.append(end.extra)
    return f"end:{end.name} " + " ; ".join(pieces) + " .\n"


def _value(quantity: str, text: str) -> str:
    if quantity == "form":
        return f"ko:form form:{text}"
    if quantity == "step":
        start, stop, radius = text.split("/")
        return f"ko:step [ ko:from {start} ; ko:to {stop} ; ko:radius {radius} ]"
    if quantity == "contact":
        records = (
            f'[ ko:way {way} ; ko:function "{function}" ; ko:use "{use}" ]'
            for way, function, use in CONTACTS[text]
        )
        return "ko:contact " + " , ".join(records)
    if quantity in _WORDS:
        return f'ko:{quantity} "{text.replace("_", " ")}"'
    return f"ko:{quantity} {text}"


def _part(part: Part) -> str:
    more = "".join(f" ;\n    {p} {o}" for p, o in part.links)
    key = f"{part.maker} {part.number.replace('-', '').lower()}"
    return (
        f'part:{part.number} a fam:{part.family} ; skos:prefLabel "{part.label}"@en-GB ;\n'
        f'    schema:mpn "{part.number}" ; ko:mpnKey "{key}" ; schema:manufacturer maker:{part.maker} ;\n'
        f"    ko:price {part.price:.2f} ; ko:weight {part.weight:.2f}{more} .\n"
    )


def _car(gen: Generation, car: Car) -> Iterator[str]:
    serial = gen.line * 1_000_000 + gen.place * 100_000 + (50_000 if car.heavy else 0)
    first = 1960 + 8 * car.place
    yield f'car:{car.name} a ko:Car ; skos:prefLabel "{car.label}"@en-GB ;\n'
    yield f"    ko:ofGeneration gen:{code(gen.line)}-g{gen.place} ;\n"
    if car.based_on:
        yield f"    ko:basedOn car:{car.based_on} ;\n"
    yield f"    ko:body ko:{'Wide' if car.heavy else 'Narrow'} ;\n"
    yield f"    ko:fromYear {first} ; ko:toYear {first + 7} ;\n"
    yield f"    ko:fromSerial {serial} ; ko:toSerial {serial + 49_999}"
    if car.empty:
        yield " ;\n    ko:leavesEmpty " + " , ".join(f"st:{s}" for s in car.empty)
    if car.fits:
        fits = (f"[ ko:atStation st:{s} ; ko:part part:{p} ]" for s, p in car.fits)
        yield " ;\n    ko:has " + " ,\n        ".join(fits)
    yield " .\n"
