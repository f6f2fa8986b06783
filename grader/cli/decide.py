"""`grader decide`: who passed a sitting, by its blueprint's rule."""

from __future__ import annotations

from pathlib import Path

import click

from grader.cli.options import REGISTER, as_json, by_person, in_folder, instant, tell_who


@click.command(epilog="Example: grader decide spring --by 'T. Examiner'")
@click.argument("sitting")
@in_folder
@by_person
@as_json
def command(sitting: str, folder: Path, person: str, json_wanted: bool) -> int:
    """
    Decide on every candidate of SITTING: pass, fail, or not examined.

    The rule is the blueprint's; a mark on the cut passes. Each decision is kept with the rule, the marks, who decided and when.
    Run it again after marking again: a new decision is made only where the evidence is another, and the earlier one is kept.
    Where the rule counts bench stations, whoever is not assessed at one, or not settled there, is not examined yet.
    Exit status 1 where somebody is not examined though a file of theirs lies set aside or their paper is marked, or has a
    certificate and fails now.
    """
    import json

    from grader.register.asides import of_candidates, open_asides
    from grader.register.decisions import decide_sitting, to_revoke
    from grader.register.rule import FAIL, NOT_EXAMINED, PASS, reason
    from grader.register.store import Register

    with Register(folder / REGISTER, existing=True) as register:
        decisions = decide_sitting(register, sitting, person, instant()[:10])
        doubtful = to_revoke(register, sitting)
        aside = of_candidates(open_asides(register, sitting))
    if json_wanted:
        rows = [{"candidate": d.candidate, "decision": d.decision, "rule": d.rule, "evidence": d.evidence} for d in decisions]
        click.echo(json.dumps(rows, ensure_ascii=False, indent=2))
    else:
        for decision in decisions:
            click.echo(f"{decision.candidate}  {decision.decision:12}  {reason(decision.evidence)}")
    for certificate in doubtful:
        who, number = certificate.candidate, certificate.id
        click.echo(
            f"{who}: has certificate {number} but no longer passes; revoke it: grader revoke {number} --reason …", err=True
        )
    unread = [d.candidate for d in decisions if d.decision == NOT_EXAMINED and d.candidate in aside]
    for candidate in unread:
        click.echo(
            f"{candidate}: not examined, but set aside: {', '.join(aside[candidate])}; mend it, mark it, decide again", err=True
        )
    waiting = [d for d in decisions if d.decision == NOT_EXAMINED and "mark" in d.evidence]
    for decision in waiting:
        said = f"{decision.candidate}: the paper is marked, and at the bench {decision.evidence['reason']}"
        click.echo(f"{said}; mark the assessor's file, or settle the step: grader award, then decide again", err=True)
    count = {kind: sum(d.decision == kind for d in decisions) for kind in (PASS, FAIL, NOT_EXAMINED)}
    click.echo("; ".join(f"{kind}: {number}" for kind, number in count.items()), err=True)
    tell_who("decided", person)
    return 1 if doubtful or unread or waiting else 0
