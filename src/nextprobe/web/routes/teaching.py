"""What is learnt about the board on the bench: pinouts, chains, roles."""

from __future__ import annotations

from fastapi import APIRouter

from nextprobe.web import bodies
from nextprobe.web.asking import BenchHere, errors
from nextprobe.web.entering import Entered

router = APIRouter(tags=["teaching"])
_ERRORS = errors(404, body=True)


@router.post("/jobs/{job}/pinouts", response_model=Entered, responses=_ERRORS)
async def pinout(bench: BenchHere, body: bodies.Pinout) -> object:
    """Add a pinout as people type it or paste it from a table."""
    return await bench.enter(body, "pinout", lambda job: job.add_pinout(body.text, body.connector))


@router.post("/jobs/{job}/chains", response_model=Entered, responses=_ERRORS)
async def chains(bench: BenchHere, body: bodies.Chains) -> object:
    """Add chains: what is joined to what becomes circuit."""
    return await bench.enter(body, "chains", lambda job: job.add_chains(body.text))


@router.post("/jobs/{job}/roles", response_model=Entered, responses=_ERRORS)
async def role(bench: BenchHere, body: bodies.RoleOfNet) -> object:
    """Say what the net under a point is for."""
    return await bench.enter(body, "role", lambda job: job.set_role(body.point, body.role))
