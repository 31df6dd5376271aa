"""Small catalogues with a few statements spoilt at random: dropped, doubled, misspelt, mistaken."""

from __future__ import annotations

from collections.abc import Iterable
from random import Random

from knockon.reasoner.closure import close
from knockon.reasoner.files import TextFile
from knockon.reasoner.load import ontology_folder
from knockon.reasoner.reading import Facts, Triple, read_facts
from rdflib import RDF, XSD, Literal, URIRef
from rdflib.term import BNode, Node

from ..conftest import TINY_DATA, tiny_files
from .broken import MORE_PREFIXES

_OBSERVATIONS = """
@prefix obs: <https://knockon.example/observation/> .
src:drawings {
obs:number a ko:OwnNumber ; skos:prefLabel "hub number" ; ko:measureBy "Read it." .
obs:cast a ko:VisibleFeature ; skos:prefLabel "casting mark" ; ko:measureBy "Look." ; ko:mayRead "A" , "B" .
obs:pins a ko:Measurement ; skos:prefLabel "over pins" ; ko:measureBy "Measure." ; ko:readTo 0.1 ;
    ko:withRole role:shaft-spline ; ko:workedOut ko:OverPins ; ko:pinDiameter 2.0 .
obs:holes a ko:Count ; skos:prefLabel "holes" ; ko:measureBy "Count." ; ko:reach ko:OnTheCar .
[] a ko:IdentificationRule ; ko:tells part:TH-27 ; ko:byObservation obs:number ; ko:fromNumber 1 ; ko:toNumber 99 .
[] a ko:IdentificationRule ; ko:tells part:TH-30 ; ko:byObservation obs:number ; ko:fromNumber 100 .
[] a ko:IdentificationRule ; ko:tells fam:light-hub ; ko:byObservation obs:cast ; ko:reads "A" .
[] a ko:IdentificationRule ; ko:tells fam:hd-hub ; ko:byObservation obs:cast ; ko:reads "B" .
[] a ko:IdentificationRule ; ko:tells part:TS-30 ; ko:byObservation obs:pins ; ko:least 31.9 ; ko:most 32.1 .
[] a ko:IdentificationRule ; ko:tells part:TW-120 ; ko:byObservation obs:holes ; ko:reads 5 .
[] a ko:IdentificationRule ; ko:tells car:tiny ; ko:byObservation ko:modelYear ; ko:fromDate "1994-01" ; ko:toDate "2001-12" .
}
"""

_WORKSHOP = """
src:drawings {
part:TH-30X a fam:hd-hub ; skos:prefLabel "HD hub, turned" ; schema:mpn "TH-30X" ; ko:reworkOf part:TH-30 ;
    ko:reworkAct "Turn the spigot down" ; ko:hours 0.5 ; ko:irreversible true ; ko:price 12.5 ; ko:weight 3.2 ;
    ko:ownTolerance [ ko:onQuantity ko:pilot ; ko:amount 0.1 ] ; ko:supersededBy part:TH-30 .
op:hub-off a ko:Operation ; skos:prefLabel "hub off" ; ko:hours 1.5 ; ko:opens st:hub .
adv:mind a ko:Advice ; ko:says "Mind the spigot." ; ko:whenWith fam:hd-hub ; ko:unlessWith fam:wheel-120 .
cons:nut a ko:Consumable ; skos:prefLabel "hub nut" ; ko:followsOpening st:hub ; ko:count "1" .
car:later a ko:Car ; skos:prefLabel "later" ; ko:basedOn car:tiny ; ko:has [ ko:atStation st:hub ; ko:part part:TH-30 ] .
end:plug a ko:Connector ; ko:role role:plug ; ko:side ko:Plug ; ko:connectorFamily "round" ; ko:ways 3 ;
    ko:contact [ ko:way 1 ; ko:function "feed" ; ko:use "needs" ] .
end:hat a ko:Envelope ; ko:role role:hat ; ko:side ko:Outer ; ko:step [ ko:from 0 ; ko:to 42 ; ko:radius 110 ] .
}
"""

_ROLES = """
role:plug a ko:Role ; ko:kind ko:Connector .
role:hat a ko:Role ; ko:kind ko:Envelope .
"""


def full_little_files() -> tuple[TextFile, ...]:
    """The tiny catalogue with something under nearly every shape."""
    from ..conftest import TINY_STATIONS

    words = ontology_folder() / "identification.ttl"
    return (
        *tiny_files(MORE_PREFIXES + TINY_DATA + _WORKSHOP + _OBSERVATIONS, TINY_STATIONS + _ROLES),
        TextFile("ontology/identification.ttl", words.read_text("utf-8"), True),
    )


def closed(files: Iterable[TextFile]) -> Facts:
    """What the files state and what follows, as if all of it were stated."""
    facts = read_facts(files)
    for triple in sorted(close(facts), key=lambda t: tuple(map(str, t))):
        facts.sources[triple] = ("derived",)
    return facts


def spoilt(facts: Facts, random: Random, times: int, files: Iterable[str]) -> Facts:
    """The same with as many statements of these files spoilt; shapes stay as they are."""
    within = set(files)
    data = [t for t in facts.sources if facts.files.get(facts.owner(t[0])) in within]
    things = [t[0] for t in data]
    found = Facts(dict(facts.sources), dict(facts.files), facts.texts, [], dict(facts.owners))
    for triple in random.sample(data, times):
        sources = found.sources.pop(triple, ("derived",))
        for new in _instead(triple, random, things):
            found.sources.setdefault(new, sources)
    return found


def _instead(triple: Triple, random: Random, things: list[Node]) -> list[Triple]:
    s, p, o = triple
    ways: list[list[Triple]] = [
        [],
        [triple, (s, p, _misspelt(o))],
        [(s, p, _misspelt(o))],
        [(s, p, random.choice([t for t in things if not isinstance(t, BNode)]))],
        [triple, (s, p, random.choice([t for t in things if not isinstance(t, BNode)]))],
        [triple, (s, RDF.type, random.choice(things))],
    ]
    if isinstance(o, Literal):
        ways += [
            [(s, p, Literal(str(o), datatype=random.choice(_KINDS), normalize=False))],
            [(s, p, Literal(f"-{o}", datatype=o.datatype, normalize=False))],
            [(s, p, Literal(f"{o}00000", datatype=o.datatype, normalize=False))],
            [(s, p, Literal(str(o), lang="en"))],
            [(s, p, Literal("", datatype=o.datatype, normalize=False))],
            [triple, (s, p, Literal(f"{o}5", datatype=o.datatype, normalize=False))],
        ]
    elif not isinstance(o, BNode):
        ways.append([(s, p, Literal(str(o)))])
    return random.choice(ways)


def _misspelt(node: Node) -> Node:
    if isinstance(node, Literal):
        return Literal(f"{node}x", datatype=node.datatype, normalize=False)
    return URIRef(f"https://knockon.example/part/{str(node).rsplit('/', 1)[-1]}x")


_KINDS = (None, XSD.string, XSD.decimal, XSD.integer, XSD.double, XSD.date)
