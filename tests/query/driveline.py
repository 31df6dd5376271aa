"""A catalogue for sums: one car with the parts that gearing, track, clutch and brakes rest on.

Its final drives are 3.9 (39/10) and 3.545 (39/11), its tyres 205/70R15 and 235/75R15, so that every
figure can be worked out on paper.
"""

from __future__ import annotations

from ..conftest import PREFIXES, family, part

_PLACES = (
    "engine", "gearbox", "clutch-disc", "clutch-cover", "rear-propshaft", "front-final-drive",
    "rear-final-drive", "front-wheel", "rear-wheel", "front-hub", "rear-hub", "front-control-arm",
    "rear-knuckle", "speed-sensor", "dashboard", "front-calliper", "rear-calliper", "front-rotor",
    "rear-rotor",
)  # fmt: skip

STATIONS = (
    PREFIXES
    + "\n".join(
        f'st:{place} a ko:Station ; skos:prefLabel "{place.replace("-", " ")}" .'
        for place in _PLACES
    )
    + """
st:rear-wheel-adapter a ko:Station ; skos:prefLabel "rear wheel adapter" ; ko:mayStandEmpty true .
st:speed-converter a ko:Station ; skos:prefLabel "speed converter" ; ko:mayStandEmpty true .
role:final-ratio a ko:Role ; ko:kind ko:Ratio .
role:track a ko:Role ; ko:kind ko:Length .
role:speed-out a ko:Role ; ko:kind ko:Signal .
"""
)


def _same(numbers: str, place: str, more: str, *ends: str) -> str:
    name = numbers.lower()
    return family(name, place, *ends) + part(numbers, name, f"{place} {numbers}", more)


_SPLINED = "ko:drivenTeeth 39 ; ko:drivingTeeth"

DATA = (
    PREFIXES
    + """
src:drawings { src:drawings a ko:Source ; skos:prefLabel "sum drawings" ;
    prov:wasAttributedTo maker:nobody ; ko:standing ko:Documented . }
src:drawings {
"""
    + _same("EN-1", "engine", " ; ko:engineTorque 200 ; ko:engineMaxSpeed 6000")
    + _same("GB-5", "gearbox", " ; ko:gear4 1.0 ; ko:gear5 0.8")
    + _same("GB-6", "gearbox", " ; ko:gear5 0.9 ; ko:gear6 0.7")
    + _same("CD-1", "clutch-disc", " ; ko:facingOuter 240 ; ko:facingInner 160 ; ko:friction 0.3")
    + _same("CC-1", "clutch-cover", " ; ko:clampLoad 5500")
    + _same("CC-2", "clutch-cover", " ; ko:clampLoad 3000")
    + _same("CC-3", "clutch-cover", "")
    + _same("PS-1", "rear-propshaft",
            " ; ko:tubeOuter 76.2 ; ko:tubeWall 2.1 ; ko:jointCentres 1400")
    + _same("FF-35", "front-final-drive", "", "front-35")
    + _same("RF-35", "rear-final-drive", "", "rear-35")
    + _same("RF-39", "rear-final-drive", "", "rear-39")
    + _same("FH-1", "front-hub", " ; ko:faceReach 75")
    + _same("RH-1", "rear-hub", " ; ko:faceReach 62")
    + _same("CA-1", "front-control-arm", "", "arm")
    + _same("RK-1", "rear-knuckle", "", "knuckle")
    + _same("SS-8", "speed-sensor", "", "pulses-8")
    + _same("DB-1", "dashboard", "")
    + _same("SC-1", "speed-converter", "")
    + _same("SP-20", "rear-wheel-adapter", " ; ko:spacerThickness 20")
    + _same("FC-1", "front-calliper",
            " ; ko:pistonDiameter 54 ; ko:pistonsPerSide 1 ; ko:padFriction 0.4")
    + _same("RC-1", "rear-calliper",
            " ; ko:pistonDiameter 38 ; ko:pistonsPerSide 1 ; ko:padFriction 0.4")
    + _same("RC-2", "rear-calliper",
            " ; ko:pistonDiameter 44 ; ko:pistonsPerSide 1 ; ko:padFriction 0.4")
    + _same("FR-1", "front-rotor", " ; ko:effectiveRadius 110")
    + _same("RR-1", "rear-rotor", " ; ko:effectiveRadius 110")
    + "".join(
        _same(f"{place[0].upper()}W-{width}", f"{place}-wheel",
              f' ; ko:tyreSize "{width}/{aspect}R15" ; ko:wheelOffset 40')
        for place in ("front", "rear")
        for width, aspect in ((205, 70), (235, 75))
    )
    + f"""
end:front-35 a ko:Ratio ; ko:role role:final-ratio ; {_SPLINED} 11 .
end:rear-35 a ko:Ratio ; ko:role role:final-ratio ; {_SPLINED} 11 .
end:rear-39 a ko:Ratio ; ko:role role:final-ratio ; {_SPLINED} 10 .
end:arm a ko:Length ; ko:role role:track ; ko:length 665 .
end:knuckle a ko:Length ; ko:role role:track ; ko:length 680 .
end:pulses-8 a ko:Signal ; ko:role role:speed-out ; ko:side ko:SignalSource ;
    ko:signalQuantity "vehicle speed" ; ko:signalForm "pulse" ; ko:pulsesPerTurn 8 .
gen:sum a ko:Generation ; skos:prefLabel "Sum S1" .
car:sum a ko:Car ; skos:prefLabel "Sum S1 light" ; ko:ofGeneration gen:sum ; ko:has
"""
    + " ,\n".join(
        f"    [ ko:atStation st:{place} ; ko:part part:{number} ]"
        for place, number in zip(
            _PLACES,
            ("EN-1", "GB-5", "CD-1", "CC-1", "PS-1", "FF-35", "RF-35", "FW-205", "RW-205", "FH-1",
             "RH-1", "CA-1", "RK-1", "SS-8", "DB-1", "FC-1", "RC-1", "FR-1", "RR-1"),
            strict=True,
        )
    )
    + " .\n}\n"
)  # fmt: skip
