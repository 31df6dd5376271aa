"""A bound on a weighted sum as clauses, so that the SAT solver can reason about money and hours.

Numbers are added as binary numbers by ripple-carry adders and the total is compared with the bound
(the encoding is the usual one of digital circuits). The clauses only force the total high enough,
never low: that is all an upper bound needs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from math import gcd

Clause = list[int]
Bits = list[int | None]
"""A binary number, the lowest bit first; None is a bit that is always 0."""


def at_most(
    numbers: Sequence[Sequence[tuple[int, int]]], most: int, new: Callable[[], int]
) -> Iterator[Clause]:
    """Clauses that hold only if the numbers together are at most `most`.

    Each number is a list of (literal, weight): at most one of its literals is true, and its weight
    is then the number's value. `new` makes fresh variables.

    >>> counter = iter(range(3, 100))
    >>> clauses = list(at_most([[(1, 3)], [(2, 4)]], 6, lambda: next(counter)))
    >>> from pysat.solvers import Solver
    >>> with Solver(name="glucose4", bootstrap_with=clauses) as solver:
    ...     [solver.solve(assumptions=a) for a in ([1, -2], [-1, 2], [1, 2])]
    [True, True, False]
    """
    shared = gcd(*(weight for number in numbers for _, weight in number)) or 1
    most //= shared
    total: Bits = []
    for number in numbers:
        bits, clauses = _binary([(v, w // shared) for v, w in number], new)
        yield from clauses
        total, clauses = _added(total, bits, new)
        yield from clauses
    yield from _bounded(total, most)


def _binary(number: Iterable[tuple[int, int]], new: Callable[[], int]) -> tuple[Bits, list[Clause]]:
    bits: Bits = []
    clauses: list[Clause] = []
    for literal, weight in number:
        for place in range(weight.bit_length()):
            if not weight >> place & 1:
                continue
            bits.extend([None] * (place + 1 - len(bits)))
            bit = bits[place]
            if bit is None:
                bit = bits[place] = new()
            clauses.append([-literal, bit])
    return bits, clauses


def _added(a: Bits, b: Bits, new: Callable[[], int]) -> tuple[Bits, list[Clause]]:
    total: Bits = []
    clauses: list[Clause] = []
    carry: int | None = None
    for place in range(max(len(a), len(b))):
        inputs = [
            bit
            for bit in (
                a[place] if place < len(a) else None,
                b[place] if place < len(b) else None,
                carry,
            )
            if bit is not None
        ]
        if len(inputs) < 2:
            total.append(inputs[0] if inputs else None)
            carry = None
            continue
        out, carry = new(), new()
        total.append(out)
        clauses += _adder(inputs, out, carry)
    if carry is not None:
        total.append(carry)
    return total, clauses


def _adder(inputs: Sequence[int], out: int, carry: int) -> list[Clause]:
    """Two or three bits added: for each pattern, what must at least be true."""
    clauses: list[Clause] = []
    for pattern in range(1, 1 << len(inputs)):
        true = [bit for at, bit in enumerate(inputs) if pattern >> at & 1]
        # The pattern is read exactly: other inputs false (their literals let the clause off).
        false = [bit for at, bit in enumerate(inputs) if not pattern >> at & 1]
        when = [-bit for bit in true] + false
        if len(true) % 2:
            clauses.append([*when, out])
        if len(true) >= 2:
            clauses.append([*when, carry])
    return clauses


def _bounded(total: Bits, most: int) -> Iterator[Clause]:
    above: list[int] = []
    for place in reversed(range(max(len(total), most.bit_length()))):
        bit = total[place] if place < len(total) else None
        if most >> place & 1:
            if bit is None:
                return  # the total stays below the bound whatever follows
            above.append(-bit)
        elif bit is not None:
            yield [-bit, *above]
