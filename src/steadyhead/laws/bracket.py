"""One step of a bracketing root search that never leaves its bracket."""

from __future__ import annotations

from steadyhead.laws.compiling import kernel


@kernel
def next_share(
    near: float, far: float, third: float, f_near: float, f_far: float, f_third: float, least: float
) -> float:
    """Return where to look next, as a share of the way from `near` to `far`.

    `near` and `far` enclose the root, `third` is the point left before. Inverse quadratic where the three
    points allow it, the middle otherwise; `least` keeps the step off the ends.

    Notes
    -----
    T.R. Chandrupatla, Adv. Eng. Software 28(3), 1997: three points are trusted when
    φ² < ξ and (1 − φ)² < 1 − ξ (from memory).
    """
    share = 0.5
    width = third - far
    rise = f_third - f_far
    if width != 0.0 and rise != 0.0:
        xi = (near - far) / width
        phi = (f_near - f_far) / rise
        if phi * phi < xi and (1.0 - phi) * (1.0 - phi) < 1.0 - xi and f_third != f_near:
            share = f_near / (f_far - f_near) * f_third / (f_far - f_third)
            share += (third - near) / (far - near) * f_near / (f_third - f_near) * f_far / (f_third - f_far)
    return min(max(share, least), 1.0 - least)
