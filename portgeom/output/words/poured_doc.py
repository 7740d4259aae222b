"""What does a poured volume say against the model, in words and to a program?"""

from __future__ import annotations

from collections.abc import Sequence

from portgeom.job.units import length_from_mm
from portgeom.output.words.json_doc import Json, Numbers, cc
from portgeom.output.words.shown import Shown
from portgeom.questions.compare.poured import COVERED, Cause, NotComparable, Poured


def poured_lines(name: str, found: Poured | NotComparable | None, shown: Shown) -> list[str]:
    """Return a poured volume against the model; nothing where none was poured."""
    if found is None:
        return []
    poured, who = shown.volume(found.poured_mm3), name[:1].upper() + name[1:]
    if isinstance(found, NotComparable):
        wanted = " and ".join(found.missing)
        return [f"{who}: {poured} poured cannot be compared; the job would have to say {wanted}."]
    more = "more" if found.difference_mm3 > 0.0 else "less"
    within = shown.volume(COVERED * found.standard_mm3)
    verdict = (
        f"within the combined uncertainty of {within}" if found.agrees else f"more than the {within} it may be off by"
    )
    lines = [
        f"{who}: {poured} poured, {shown.volume(found.expected_mm3)} by the model poured likewise: "
        f"{shown.volume(abs(found.difference_mm3))} {more}, {verdict}",
        f"  the model's {shown.volume(found.model_mm3)}" + "".join(_part(p.name, p.volume_mm3) for p in found.parts),
    ]
    assumed = [f"of {p.name} {p.assumed}" for p in found.parts if p.assumed]
    lines += [f"  assumed: {'; '.join(assumed)}"] if assumed else []
    if not found.agrees:
        lines.append("  any one of these alone would explain it; none is applied:")
        lines += [f"    {cause_words(c, shown)}" for c in found.causes]
    return lines


def not_comparable_lines(found: Sequence[tuple[str, NotComparable]], shown: Shown) -> list[str]:
    """Return what was poured of some ports and cannot be compared: those that lack the same in one line."""
    lacking: dict[tuple[str, ...], list[tuple[str, NotComparable]]] = {}
    for name, one in found:
        lacking.setdefault(tuple(one.missing), []).append((name, one))
    lines = []
    for missing, several in lacking.items():
        if len(several) == 1:
            lines += poured_lines(*several[0], shown)
            continue
        names = ", ".join(f"{name} {shown.volume(one.poured_mm3)}" for name, one in several)
        wanted = " and ".join(missing)
        lines.append(
            f"{names[:1].upper()}{names[1:]}: poured, and cannot be compared; the job would have to say {wanted}."
        )
    return lines


def _part(name: str, volume_mm3: float) -> str:
    sign = "plus" if volume_mm3 >= 0.0 else "less"
    return f", {sign} {abs(volume_mm3) / 1000.0:.1f} for {name}"


def cause_words(cause: Cause, shown: Shown) -> str:
    """Return a cause and its size, its sign in words."""
    size, more = abs(cause.size), cause.size > 0.0
    known = "" if cause.likely else "; that is more than such readings are known to be off by"
    if cause.name == "distance scale":
        return f"every distance along the path is {100.0 * size:.1f} percent too {'short' if more else 'long'}{known}"
    told = _fine(size, shown)
    if cause.name == "width bias":
        return f"every width and height reads {told} too {'small' if more else 'large'}{known}"
    return f"all sections lie {told} too near to the {'inside' if more else 'outside'} of the bend{known}"


def _fine(length_mm: float, shown: Shown) -> str:
    value = length_from_mm(length_mm, shown.units)
    return f"{value:.2f} mm" if shown.units == "mm" else f"{value:.3f} in"


def poured_json(found: Poured | NotComparable | None, n: Numbers) -> Json:
    """Return a poured volume's entry; None where none was poured."""
    if found is None:
        return None
    if isinstance(found, NotComparable):
        return {"poured_cc": cc(found.poured_mm3), "comparable": False, "missing": list(found.missing)}
    return {
        "poured_cc": cc(found.poured_mm3),
        "comparable": True,
        "model_cc": cc(found.model_mm3),
        "parts": [
            {
                "name": p.name,
                "volume_cc": cc(p.volume_mm3),
                "standard_cc": cc(p.standard_mm3),
                "assumed": p.assumed or None,
            }
            for p in found.parts
        ],
        "expected_cc": cc(found.expected_mm3),
        "difference_cc": cc(found.difference_mm3),
        "standard_cc": cc(found.standard_mm3),
        "agrees": found.agrees,
        "causes": [_cause_json(c, n) for c in found.causes],
    }


def _cause_json(cause: Cause, n: Numbers) -> Json:
    share = cause.name == "distance scale"
    times = abs(cause.in_standards)
    return {
        "name": cause.name,
        "percent" if share else "length": round(100.0 * cause.size, 4) if share else n.length(cause.size),
        "times_the_readings": round(times, 2) if times < float("inf") else None,
        "likely": cause.likely,
    }
