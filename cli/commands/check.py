"""``check``: is the job sound?"""

from __future__ import annotations

import sys
from pathlib import Path

import click

from ..options import job_argument, json_option, tell_faults
from ..saying import say


@click.command("check")
@job_argument
@json_option
def command(job_path: Path, as_json: bool) -> None:
    """Is the job sound? Tells every fault at once, with file, row, field and the mend.

    Exit status 0 if it is, 2 if it is not.
    """
    from portgeom.output.words.check_doc import check_json, check_text
    from portgeom.questions.check import check

    checked = check(job_path)
    units = checked.job.units if checked.job else "mm"
    if as_json:
        click.echo(check_json(checked, units))
    elif checked.ok:
        say(check_text(checked))
    if not checked.ok:
        tell_faults(checked.faults, units)
        sys.exit(2)
