"""What the load index and the speed symbol of a tyre allow.

The tables are those of ISO 4000-1 and of UN Regulations 30 and 54 (from memory), for the indices
that cars and light trucks use. They hold at the pressure and speed the maker states.
"""

from __future__ import annotations

from .limits import above_zero

_FIRST_INDEX = 60
_LOADS_KG = (
    250, 257, 265, 272, 280, 290, 300, 307, 315, 325,
    335, 345, 355, 365, 375, 387, 400, 412, 425, 437,
    450, 462, 475, 487, 500, 515, 530, 545, 560, 580,
    600, 615, 630, 650, 670, 690, 710, 730, 750, 775,
    800, 825, 850, 875, 900, 925, 950, 975, 1000, 1030,
    1060, 1090, 1120, 1150, 1180, 1215, 1250, 1285, 1320, 1360,
    1400, 1450, 1500, 1550, 1600, 1650, 1700, 1750, 1800, 1850,
    1900,
)  # fmt: skip

_SPEEDS_KMH = {
    "J": 100, "K": 110, "L": 120, "M": 130, "N": 140, "P": 150, "Q": 160, "R": 170, "S": 180,
    "T": 190, "U": 200, "H": 210, "V": 240, "W": 270, "Y": 300,
}  # fmt: skip


def load_kg(load_index: int) -> int:
    """The mass one tyre of this load index may carry, in kg.

    Raises:
        ValueError: the index is not from 60 to 130.

    >>> load_kg(109)
    1030
    """
    place = load_index - _FIRST_INDEX
    if not 0 <= place < len(_LOADS_KG):
        raise ValueError(
            f"load_index is {load_index}: it must be from {_FIRST_INDEX} to "
            f"{_FIRST_INDEX + len(_LOADS_KG) - 1}"
        )
    return _LOADS_KG[place]


def load_index_for(mass_kg: float) -> int:
    """The smallest load index whose tyre may carry `mass_kg`.

    Raises:
        ValueError: no index up to 130 carries it, or the mass is not above 0 kg.

    >>> load_index_for(1000)
    108
    >>> load_index_for(1001)
    109
    """
    above_zero("mass_kg", mass_kg, "kg")
    for place, load in enumerate(_LOADS_KG):
        if load >= mass_kg:
            return _FIRST_INDEX + place
    raise ValueError(f"mass_kg is {mass_kg} kg: it must be at most {_LOADS_KG[-1]} kg")


def top_speed_kmh(speed_symbol: str) -> int:
    """The speed a tyre with this symbol is good for, in km/h.

    Raises:
        ValueError: the symbol is not one of J to Y.

    >>> top_speed_kmh("Q")
    160
    """
    symbol = speed_symbol.upper()
    if symbol not in _SPEEDS_KMH:
        raise ValueError(
            f"speed_symbol is “{speed_symbol}”: it must be one of {', '.join(_SPEEDS_KMH)}"
        )
    return _SPEEDS_KMH[symbol]
