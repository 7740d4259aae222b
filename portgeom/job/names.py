"""Does every name that a job points to exist, and do its ports stand where they can be told apart?"""

from __future__ import annotations

from portgeom.job.faults import nearest, shown
from portgeom.job.keys import Entry


def names_of(entries: tuple[Entry, ...]) -> tuple[str, ...]:
    """Return the names of entries that have one."""
    return tuple(entry.text("name") for entry in entries if entry.text("name"))


def check_names(job: Entry) -> None:
    """Take down every name of a port, stage or target that the job does not have."""
    ports, targets = job.tables("port"), names_of(job.tables("target"))
    passes = names_of(job.tables("pass"))
    for port in ports:
        _must_be(port, "target", port.text("target"), targets, "[[target]]")
        for stage in port.tables("stage"):
            _must_be(stage, "after", stage.text("after"), passes, "[[pass]]")
    for target in job.tables("target"):
        pattern = target.table("copy_of")
        if pattern is not None:
            _check_stage(pattern, ports)
    for reading in job.tables("flow"):
        _check_stage(reading, ports)
    for opened in job.tables("opened"):
        _must_be(opened, "port", opened.text("port"), names_of(ports), "[[port]]")
    for hazard in job.tables("hazard"):
        for name in hazard.names("ports"):
            _must_be(hazard, "ports", name, names_of(ports), "[[port]]")


def _check_stage(entry: Entry, ports: tuple[Entry, ...]) -> None:
    name, stage = entry.text("port"), entry.text("stage")
    _must_be(entry, "port", name, names_of(ports), "[[port]]")
    for port in ports:
        if name and port.text("name") == name:
            known = names_of(port.tables("stage"))
            _must_be(entry, "stage", stage, known, f"stage of port {shown(name)}")


def _must_be(entry: Entry, key: str, name: str, known: tuple[str, ...], what: str) -> None:
    if name and name not in known:
        mend = nearest(name, known, what="name") if known else f"add one, or leave {key} out"
        entry.spot(key).fault(f"{shown(name)} is not the name of a {what}", mend)


def check_positions(job: Entry, placed: frozenset[str]) -> None:
    """Take down ports that stand nowhere where it matters, or at the same place.

    Parameters
    ----------
    placed : frozenset of str
        Names of the ports whose tables give their own places in the head.
    """
    ports = job.tables("port")
    if len(ports) > 1 and job.tables("hazard"):
        for port in ports:
            if "position" not in port.given and port.text("name") not in placed:
                port.spot("position").fault(
                    "is missing, and the job has hazards and more than one port",
                    "give [x, y, z], where the port's path starts in the head",
                )
    first: dict[tuple[float, ...], Entry] = {}
    for port in ports:
        position = port.array("position")
        if position is not None:
            earlier = first.setdefault(tuple(position.tolist()), port)
            if earlier is not port:
                port.spot("position").fault(
                    f"is also that of {earlier.label}", "give each port its own place in the head"
                )
