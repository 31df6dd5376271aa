"""A tiny catalogue in which everything is wrong that shapes and OWL cannot see, each under a name
of its own."""

from __future__ import annotations

from tests.conftest import PREFIXES, TINY_DATA, TINY_STATIONS, family, part

MORE_STATIONS = (
    TINY_STATIONS
    + """
st:aerial a ko:Station ; skos:prefLabel "aerial" .
st:mast a ko:Station ; skos:prefLabel "mast" .
st:gauge a ko:Station ; skos:prefLabel "gauge" .
st:sender a ko:Station ; skos:prefLabel "sender" .
st:cradle a ko:Station ; skos:prefLabel "cradle" .
st:prop a ko:Station ; skos:prefLabel "propshaft" .
role:gauge-signal a ko:Role ; skos:prefLabel "gauge signal" ; ko:kind ko:Signal .
role:sender-signal a ko:Role ; ko:kind ko:Signal .
role:space a ko:Role ; ko:kind ko:Length .
role:prop-length a ko:Role ; ko:kind ko:Length .
role:idle a ko:Role ; skos:prefLabel "idle role" ; ko:kind ko:Spline .
joint:sender-to-gauge a ko:Joint ; skos:prefLabel "sender ↔ gauge" ; ko:kind ko:Signal ;
    ko:member [ ko:place 1 ; ko:atStation st:sender ; ko:withRole role:sender-signal ; ko:alone ko:MayStandAlone ] ,
              [ ko:place 2 ; ko:atStation st:gauge ; ko:withRole role:gauge-signal ; ko:alone ko:MustMeet ] .
joint:cradle-to-prop a ko:Joint ; skos:prefLabel "cradle ↔ propshaft length" ; ko:kind ko:Length ;
    ko:member [ ko:place 1 ; ko:atStation st:cradle ; ko:withRole role:space ; ko:sign 1 ] ,
              [ ko:place 2 ; ko:atStation st:prop ; ko:withRole role:prop-length ; ko:sign -1 ] .
"""
)


def _length(name: str, role: str, length: str, more: str = "") -> str:
    return f"end:{name} a ko:Length ; ko:role role:{role} ; ko:length {length}{more} .\n"


BROKEN_DATA = (
    TINY_DATA.replace(
        "    prov:wasAttributedTo maker:nobody ; ko:standing ko:Documented . }\nsrc:drawings {",
        "    prov:wasAttributedTo maker:nobody ; ko:standing ko:Documented . }\n"
        'src:club { src:club a ko:Source ; skos:prefLabel "club notes" ;\n'
        "    prov:wasAttributedTo maker:nobody ; ko:standing ko:Reported .\n"
        "    end:prop-600 ko:length 23.622 . }\nsrc:drawings {",
    )
    + "@prefix adv: <https://knockon.example/advice/> .\nsrc:drawings {\n"
    # ---------------------------------------------------------------- stock builds
    + """
car:clashing a ko:Car ; skos:prefLabel "Tiny clashing" ; ko:basedOn car:tiny ;
    ko:has [ ko:atStation st:hub ; ko:part part:TH-30 ] .
car:mute a ko:Car ; skos:prefLabel "Tiny mute" ; ko:basedOn car:tiny ;
    ko:has [ ko:atStation st:gauge ; ko:part part:TG-1 ] , [ ko:atStation st:sender ; ko:part part:TN-1 ] .
car:stretched a ko:Car ; skos:prefLabel "Tiny stretched" ; ko:basedOn car:tiny ;
    ko:has [ ko:atStation st:cradle ; ko:part part:TC-700 ] , [ ko:atStation st:prop ; ko:part part:TP-600 ] .
"""
    + family("gauges", "gauge", "gauge-signal")
    + family("senders", "sender")
    + family("masts", "mast")
    + family("cradles-700", "cradle", "space-700")
    + family("props-600", "prop", "prop-600")
    + family("props-610", "prop", "prop-610")
    + family("props-inch", "prop", "prop-inch")
    + part("TG-1", "gauges", "speed gauge")
    + part("TN-1", "senders", "dumb sender")
    + part("TM-1", "masts", "mast")
    + part("TC-700", "cradles-700", "long cradle")
    + part("TP-600", "props-600", "propshaft")
    + part("TP-610", "props-610", "longer propshaft")
    + part("TP-24", "props-inch", "propshaft in inches")
    + """
end:gauge-signal a ko:Signal ; ko:role role:gauge-signal ; ko:side ko:SignalSink ;
    ko:signalQuantity "vehicle speed" ; ko:signalForm "pulse" .
"""
    + _length("space-700", "space", "700.0")
    + _length("prop-600", "prop-length", "600.0", " ; ko:plungeIn 20.0 ; ko:plungeOut 20.0")
    + _length("prop-610", "prop-length", "610.0")
    + _length("prop-inch", "prop-length", "24.5")
    # ---------------------------------------------------------------- exceptions
    + part("X-1", "light-hub", "hub with an idle exception", " ; ko:ownEnd end:hub-27")
    + part("X-2", "light-hub", "hub that lacks what none has", " ; ko:lacksRole role:wheel-face")
    + part("X-3", "light-hub", "hub with two own ends", " ; ko:ownEnd end:hub-30 , end:hub-31")
    + part(
        "X-4",
        "light-hub",
        "hub with and without",
        " ; ko:ownEnd end:hub-30 ; ko:lacksRole role:hub-spline",
    )
    + "end:hub-31 a ko:Spline ; ko:role role:hub-spline ; ko:side ko:Internal ; ko:teeth 31 ;"
    " ko:module 1.0 ; ko:pressureAngle 30.0 .\n"
    # ---------------------------------------------------------------- parts that do not go on
    + family("odd-hubs", "hub", "hub-99", "face-5x100")
    + part("X-5", "odd-hubs", "hub with 99 teeth")
    + "end:hub-99 a ko:Spline ; ko:role role:hub-spline ; ko:side ko:Internal ; ko:teeth 99 ;"
    " ko:module 1.0 ; ko:pressureAngle 30.0 .\n"
    # ---------------------------------------------------------------- entered twice
    + part("X-6", "light-hub", "twin hub")
    + part("X-66", "light-hub", "twin hub")
    + part("X-7", "light-hub", "keyed hub", ' ; ko:mpnKey "nobody x7"')
    + part("X-77", "light-hub", "keyed hub again", ' ; ko:mpnKey "nobody x7"')
    + 'part:X-8 a fam:light-hub ; skos:prefLabel "numbered hub" ; schema:mpn "X 8" .\n'
    + 'part:X-88 a fam:light-hub ; skos:prefLabel "numbered hub too" ; schema:mpn "X-8" .\n'
    # ---------------------------------------------------------------- loose ends
    + family("ghosts", "hub")
    + family("shades", "hub")
    + family("spooks", "hub")
    + part("X-9", "light-hub", "haunted hub", " ; ko:requires fam:ghosts")
    + 'adv:never a ko:Advice ; ko:says "mind the step" ; ko:whenWith fam:shades .\n'
    + "end:lost a ko:Spline ; ko:role role:hub-spline ; ko:side ko:Internal ; ko:teeth 27 .\n"
    + family("splined-wheels", "wheel", "hub-77", "wheel-5x100")
    + "end:hub-77 a ko:Spline ; ko:role role:hub-spline ; ko:side ko:Internal ; ko:teeth 77 .\n"
    + part("X-10", "splined-wheels", "wheel with a spline")
    # ---------------------------------------------------------------- serial numbers
    + """
gen:numbered a ko:Generation ; skos:prefLabel "Tiny T9" .
car:first a ko:Car ; skos:prefLabel "Tiny first" ; ko:basedOn car:tiny ; ko:ofGeneration gen:numbered ;
    ko:fromSerial 100 ; ko:toSerial 200 .
car:second a ko:Car ; skos:prefLabel "Tiny second" ; ko:basedOn car:tiny ; ko:ofGeneration gen:numbered ;
    ko:fromSerial 190 ; ko:toSerial 300 .
car:third a ko:Car ; skos:prefLabel "Tiny third" ; ko:basedOn car:tiny ; ko:ofGeneration gen:numbered ;
    ko:fromSerial 310 ; ko:toSerial 400 .
}
"""
)

__all__ = ["BROKEN_DATA", "MORE_STATIONS", "PREFIXES"]
