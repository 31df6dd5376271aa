"""Bad facts to add to the tiny catalogue: for each, the thing to be told of and words of the telling.

Every bad thing has a name of its own, so that all of them go into one catalogue and each is still
told by itself. Stations, roles and joints belong to the vocabulary; the rest stands in the graph of
the drawings.
"""

from __future__ import annotations

from dataclasses import dataclass

from knockon.reasoner.errors import CatalogueRefused, Fault
from knockon.reasoner.files import TextFile
from knockon.reasoner.load import build_catalogue

from ..conftest import TINY_DATA, TINY_STATIONS, part, tiny_files

MORE_PREFIXES = """@prefix op: <https://knockon.example/operation/> .
@prefix adv: <https://knockon.example/advice/> .
@prefix cons: <https://knockon.example/consumable/> .
"""


@dataclass(frozen=True)
class Bad:
    """Facts that must be refused, the name they are told under, the shape and words in the fault."""

    node: str
    shape: str
    words: str
    data: str = ""
    vocabulary: str = ""


def _end(name: str, more: str, role: str = "hub-spline", kind: str = "Spline") -> str:
    return f"end:{name} a ko:{kind} ; ko:role role:{role} ; {more} .\n"


BROKEN_SHAPES = {
    # ---------------------------------------------------------------- parts
    "a part nobody can name": Bad(
        "B-1", "PartShape", "label people can say",
        'part:B-1 a fam:light-hub ; schema:mpn "B-1" .',
    ),
    "a part without a number": Bad(
        "B-2", "PartShape", "exactly one part number",
        'part:B-2 a fam:light-hub ; skos:prefLabel "b2" .',
    ),
    "a part with two numbers": Bad(
        "B-3", "PartShape", "exactly one part number",
        part("B-3", "light-hub", "b3", ' , "B-3X"'),
    ),
    "a part that sits nowhere": Bad(
        "B-4", "PartShape", "must sit at a known station",
        'part:B-4 a ko:Part ; skos:prefLabel "b4" ; schema:mpn "B-4" ; ko:ofFamily fam:light-hub .',
    ),
    "a part at a misspelt station": Bad(
        "B-5", "PartShape", "must sit at a known station (ko:sitsAt, usually by its family) (it says hubb, which is stated nowhere; did you mean hub?)",
        part("B-5", "light-hub", "b5", " ; ko:sitsAt st:hubb"),
    ),
    "a part with an end nobody describes": Bad(
        "B-6", "PartShape", "every end of a part must be stated, with its kind (it says hub-72, which is stated nowhere",
        part("B-6", "light-hub", "b6", " ; ko:hasEnd end:hub-72"),
    ),
    "a part of no family": Bad(
        "B-7", "PartShape", "needs a family",
        'part:B-7 a ko:Part ; skos:prefLabel "b7" ; schema:mpn "B-7" ; ko:sitsAt st:hub .',
    ),
    "a part superseded by a part nobody has": Bad(
        "B-8", "PartShape", "superseded by another part of the catalogue (it says TH-99, which",
        part("B-8", "light-hub", "b8", " ; ko:supersededBy part:TH-99"),
    ),
    "a part that requires a part and not a family": Bad(
        "B-9", "PartShape", "requires a family (it says TS-30)",
        part("B-9", "light-hub", "b9", " ; ko:requires part:TS-30"),
    ),
    "a part that costs less than nothing": Bad(
        "B-10", "PartShape", "0 or more, in EUR (it says “-1.0”)",
        part("B-10", "light-hub", "b10", " ; ko:price -1.0"),
    ),
    "a part with two prices": Bad(
        "B-11", "PartShape", "a price is one decimal number",
        part("B-11", "light-hub", "b11", " ; ko:price 1.0 , 2.0"),
    ),
    "a part whose price is words": Bad(
        "B-12", "PartShape", "a price is one decimal number, 0 or more, in EUR (it says “ask us”)",
        part("B-12", "light-hub", "b12", ' ; ko:price "ask us"'),
    ),
    "a part that weighs nothing": Bad(
        "B-13", "PartShape", "kilograms above 0",
        part("B-13", "light-hub", "b13", " ; ko:weight 0.0"),
    ),
    "rework that does not say whether it can be undone": Bad(
        "B-15", "ReworkShape", "whether the act can be undone",
        part("B-15", "light-hub", "b15",
             ' ; ko:reworkOf part:TH-27 ; ko:reworkAct "turn the spigot down" ; ko:hours 0.5'),
    ),
    "rework that the trade does not accept": Bad(
        "B-16", "ReworkShape", "it may not be offered (it says “Weld up and redrill”)",
        part("B-16", "light-hub", "b16",
             ' ; ko:reworkOf part:TH-27 ; ko:reworkAct "Weld up and redrill" ; ko:hours 2.0 ;'
             " ko:irreversible true"),
    ),
    "a family nobody can name": Bad(
        "nameless", "FamilyShape", "a family needs a label",
        "fam:nameless a ko:Family , owl:Class ; rdfs:subClassOf ko:Part .",
    ),
    # ---------------------------------------------------------------- ends
    "an end that is there to meet nothing": Bad(
        "aimless", "EndShape", "exactly one role",
        "end:aimless a ko:Spline ; ko:side ko:Internal .",
    ),
    "an end with a role the ontology does not know": Bad(
        "odd-role", "EndShape", "exactly one role that the ontology knows (ko:role) (it says hub-splin, which",
        _end("odd-role", "ko:side ko:Internal", "hub-splin"),
    ),
    "an end of another kind than its role": Bad(
        "mixed-kind", "EndShape", "the end's kind and the kind of its role must be the same",
        _end("mixed-kind", "ko:side ko:Internal", "hub-face"),
    ),
    "a spline without a side": Bad(
        "sideless", "ExternalInternalPropertyShape", "ko:External or ko:Internal",
        _end("sideless", "ko:teeth 27"),
    ),
    "a spline with three teeth": Bad(
        "toothless", "SplineShape", "a whole number from 4 to 200. (it says “3”)",
        _end("toothless", "ko:side ko:Internal ; ko:teeth 3"),
    ),
    "a spline with half a tooth": Bad(
        "half-tooth", "SplineShape", "a whole number from 4 to 200. (it says “27.5”)",
        _end("half-tooth", "ko:side ko:Internal ; ko:teeth 27.5"),
    ),
    "a spline whose teeth are not a number": Bad(
        "wordy", "SplineShape", "a whole number from 4 to 200. (it says “many”)",
        _end("wordy", 'ko:side ko:Internal ; ko:teeth "many"^^xsd:integer'),
    ),
    "a bolt circle in inches": Bad(
        "inches", "BoltCircleShape", "from 20 to 500 mm. For 5 on 4 1/2 inches state 114.3. (it says “4.5”)",
        _end("inches", "ko:side ko:External ; ko:circleDiameter 4.5", "hub-face", "BoltCircle"),
    ),
    # ---------------------------------------------------------------- cars
    "a car nobody can name": Bad(
        "nameless-car", "CarShape", "a car needs a label",
        "car:nameless-car a ko:Car ; ko:ofGeneration gen:tiny .",
    ),
    "a car with a part nobody has": Bad(
        "odd-part", "FitShape", "one known part (it says TH-72, which is stated nowhere; did you mean TH-27?)",
        'car:odd-part a ko:Car ; skos:prefLabel "odd part" ; ko:ofGeneration gen:tiny ;'
        " ko:has [ ko:atStation st:hub ; ko:part part:TH-72 ] .",
    ),
    "a car with a part that sits nowhere": Bad(
        "no-station", "FitShape", "a fit names one known station",
        'car:no-station a ko:Car ; skos:prefLabel "no station" ; ko:ofGeneration gen:tiny ;'
        " ko:has [ ko:part part:TH-27 ] .",
    ),
    "a car based on two others": Bad(
        "two-bases", "CarShape", "based on one other car",
        'car:two-bases a ko:Car ; skos:prefLabel "two bases" ; ko:ofGeneration gen:tiny ;'
        " ko:basedOn car:tiny , car:no-station .",
    ),
    # ---------------------------------------------------------------- sources, tolerances, work
    "a source without a standing": Bad(
        "hearsay", "SourceShape", "exactly one standing",
        'src:hearsay a ko:Source ; skos:prefLabel "hearsay" ; prov:wasAttributedTo maker:nobody .',
    ),
    "a source that comes from nobody": Bad(
        "from-nobody", "SourceShape", "says who it comes from",
        'src:from-nobody a ko:Source ; skos:prefLabel "anon" ; ko:standing ko:Reported .',
    ),
    "a tolerance on nothing": Bad(
        "on-nothing", "ToleranceShape", "on one quantity",
        "end:on-nothing a ko:Tolerance ; ko:forKind ko:Spline ; ko:amount 0.1 .",
    ),
    "a tolerance below nothing": Bad(
        "below-nothing", "ToleranceShape", "one decimal number, 0 or more (it says “-0.1”)",
        "end:below-nothing a ko:Tolerance ; ko:onQuantity ko:teeth ; ko:amount -0.1 .",
    ),
    "a part's own tolerance that is not a number": Bad(
        "B-14", "ToleranceShape", "one decimal number, 0 or more (it says “tight”)",
        part("B-14", "light-hub", "b14",
             ' ; ko:ownTolerance [ ko:onQuantity ko:module ; ko:amount "tight" ]'),
    ),
    "work that takes no stated time": Bad(
        "timeless", "OperationShape", "has its hours",
        'op:timeless a ko:Operation ; skos:prefLabel "timeless" .',
    ),
    "work that opens what is not a station": Bad(
        "opens-odd", "OperationShape", "opens known stations (it says bonnet, which is stated nowhere)",
        'op:opens-odd a ko:Operation ; skos:prefLabel "opens odd" ; ko:hours 1.0 ; ko:opens st:bonnet .',
    ),
    "advice that says nothing": Bad(
        "silent", "AdviceShape", "advice says one thing",
        "adv:silent a ko:Advice ; ko:whenWith fam:hd-hub .",
    ),
    "advice about no family": Bad(
        "pointless", "AdviceShape", "names the families it is about",
        'adv:pointless a ko:Advice ; ko:says "mind your fingers" .',
    ),
    "a consumable that follows nothing": Bad(
        "loose-seal", "ConsumableShape", "follows the opening of a known station",
        'cons:loose-seal a ko:Consumable ; skos:prefLabel "seal" ; ko:count "1" .',
    ),
    "a consumable in no number": Bad(
        "uncounted", "ConsumableShape", "says how many or how much",
        'cons:uncounted a ko:Consumable ; skos:prefLabel "nut" ; ko:followsOpening st:hub .',
    ),
    # ---------------------------------------------------------------- the vocabulary's own things
    "a station nobody can name": Bad(
        "nowhere", "StationShape", "a station needs a label",
        vocabulary="st:nowhere a ko:Station .",
    ),
    "a station a hundred times over": Bad(
        "crowd", "StationShape", "from 1 to 64 (it says “100”)",
        vocabulary='st:crowd a ko:Station ; skos:prefLabel "crowd" ; ko:quantity 100 .',
    ),
    "a role of no kind": Bad(
        "kindless", "RoleShape", "exactly one interface kind",
        vocabulary="role:kindless a ko:Role .",
    ),
    "a joint of no kind": Bad(
        "no-kind", "JointShape", "a joint has exactly one interface kind",
        vocabulary="joint:no-kind a ko:Joint ;"
        " ko:member [ ko:place 1 ; ko:atStation st:hub ; ko:withRole role:hub-face ] ,"
        " [ ko:place 2 ; ko:atStation st:wheel ; ko:withRole role:wheel-face ] .",
    ),
    "a joint with one member": Bad(
        "one-hand", "JointShape", "two or more members",
        vocabulary="joint:one-hand a ko:Joint ; ko:kind ko:BoltCircle ;"
        " ko:member [ ko:place 1 ; ko:atStation st:hub ; ko:withRole role:hub-face ] .",
    ),
    "a joint at an unknown station": Bad(
        "odd-place", "MemberShape", "one known station (it says whel, which is stated nowhere; did you mean wheel?)",
        vocabulary="joint:odd-place a ko:Joint ; ko:kind ko:BoltCircle ;"
        " ko:member [ ko:place 1 ; ko:atStation st:hub ; ko:withRole role:hub-face ] ,"
        " [ ko:place 2 ; ko:atStation st:whel ; ko:withRole role:wheel-face ] .",
    ),
    "a joint whose go-between is no station": Bad(
        "odd-via", "JointShape", "one known station (it says adapter, which is stated nowhere)",
        vocabulary="joint:odd-via a ko:Joint ; ko:kind ko:BoltCircle ; ko:via st:adapter ;"
        " ko:member [ ko:place 1 ; ko:atStation st:hub ; ko:withRole role:hub-face ] ,"
        " [ ko:place 2 ; ko:atStation st:wheel ; ko:withRole role:wheel-face ] .",
    ),
    "a joint of mixed kinds": Bad(
        "mixed", "JointShape", "a member's role must be of the joint's kind",
        vocabulary="joint:mixed a ko:Joint ; ko:kind ko:BoltCircle ;"
        " ko:member [ ko:place 1 ; ko:atStation st:hub ; ko:withRole role:hub-spline ] ,"
        " [ ko:place 2 ; ko:atStation st:wheel ; ko:withRole role:wheel-face ] .",
    ),
    "a member on neither side of a chain": Bad(
        "odd-sign", "MemberShape", "a member's sign is 1 or -1 (it says “2”)",
        vocabulary="joint:odd-sign a ko:Joint ; ko:kind ko:BoltCircle ;"
        " ko:member [ ko:place 1 ; ko:atStation st:hub ; ko:withRole role:hub-face ; ko:sign 2 ] ,"
        " [ ko:place 2 ; ko:atStation st:wheel ; ko:withRole role:wheel-face ] .",
    ),
}  # fmt: skip


def broken_files(cases: dict[str, Bad]) -> tuple[TextFile, ...]:
    """The tiny catalogue with the facts of all `cases` added."""
    data = "".join(case.data + "\n" for case in cases.values())
    vocabulary = "".join(case.vocabulary + "\n" for case in cases.values())
    return tiny_files(
        MORE_PREFIXES + TINY_DATA + "src:drawings {\n" + data + "}\n",
        MORE_PREFIXES + TINY_STATIONS + vocabulary,
    )


def faults_of(files: tuple[TextFile, ...]) -> tuple[Fault, ...]:
    """Why a catalogue of these files is refused; nothing is served from it."""
    try:
        build_catalogue("broken", files)
    except CatalogueRefused as refusal:
        return refusal.faults
    return ()


def added(data: str = "", vocabulary: str = "") -> tuple[Fault, ...]:
    """Why the tiny catalogue with these facts added is refused."""
    return faults_of(broken_files({"": Bad("", "", "", data, vocabulary)}))
