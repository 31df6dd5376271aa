"""What a plan changes in how the car drives, as sentences."""

from __future__ import annotations

from ..reasoner.effects import Effect, EffectKind


def effect_text(effect: Effect) -> str:
    """One effect as a sentence with both figures.

    >>> effect_text(Effect(EffectKind.SPEEDOMETER, 0.0, 4.06))
    'the speedometer will read 4.1 % high'
    >>> effect_text(Effect(EffectKind.REAR_TRACK, 1480.0, 1500.0))
    'rear track 20 mm wider (1480 to 1500 mm)'
    """
    before, after = effect.before, effect.after
    match effect.kind:
        case EffectKind.SPEEDOMETER:
            return f"the speedometer will read {speed_error_text(after)}{_was_error(before)}"
        case EffectKind.ENGINE_SPEED:
            return (
                f"in top gear at 100 km/h the engine turns {after:.0f} rev/min (now {before:.0f})"
            )
        case EffectKind.SLIP:
            if after < 0.05:
                return f"front and rear turn alike again (now {before:.1f} % apart)"
            return (
                f"front and rear differ by {after:.1f} % across the centre differential "
                f"(now {before:.1f} %)"
            )
        case EffectKind.FRONT_TRACK | EffectKind.REAR_TRACK:
            which = "front" if effect.kind is EffectKind.FRONT_TRACK else "rear"
            more = after - before
            word = "wider" if more > 0 else "narrower"
            return f"{which} track {abs(more):.0f} mm {word} ({before:.0f} to {after:.0f} mm)"
        case EffectKind.BRAKE_SPLIT:
            way = "forward" if after > before else "rearward: the rear wheels may lock sooner"
            return (
                f"the front makes {after:.1f} % of the braking (now {before:.1f} %), "
                f"a shift of {abs(after - before):.1f} points {way}"
            )
        case EffectKind.CLUTCH:
            short = ": it will slip" if after < 1 else ""
            return (
                f"the clutch holds {after:.2f} times the engine's torque (now {before:.2f}){short}"
            )


def speed_error_text(percent: float) -> str:
    """How far a speedometer is out.

    >>> speed_error_text(-2.34), speed_error_text(0.01)
    ('2.3 % low', 'true')
    """
    if abs(percent) < 0.05:
        return "true"
    return f"{abs(percent):.1f} % {'high' if percent > 0 else 'low'}"


def _was_error(percent: float) -> str:
    return "" if abs(percent) < 0.05 else f" (now {speed_error_text(percent)})"
