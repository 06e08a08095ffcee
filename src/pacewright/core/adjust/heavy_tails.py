"""Trust outlying legs and observations less: scatter with heavy tails instead of normal scatter.

Each weight is what an error of a t distribution of four degrees of freedom would have, given what
the whole log says of it: one as large as expected keeps its weight, one many times larger loses it
and pulls ever less. An error that nothing checks keeps its weight of 1.

References
----------
K. Lange, R. Little, J. Taylor, Robust statistical modeling using the t distribution, Journal of the
American Statistical Association 84, 1989 (from memory).
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.adjust.network import Solution, misfit_covariance
from pacewright.core.adjust.network_equations import Equations, equations
from pacewright.core.adjust.network_setup import Weights
from pacewright.core.compass import turn_deg
from pacewright.core.way.observations import Observations
from pacewright.core.way.reckoning import Reckoning

Array = NDArray[np.float64]

FREEDOM: Final = 4.0
"""Degrees of freedom of the tails: four, as Lange, Little and Taylor use where little is known."""


LEAST_TRUST: Final = 1e-6
"""What has lost all trust keeps so much, lest the numbers fall apart."""


def reweigh(weights: Weights, solution: Solution) -> Weights:
    """The weights that an adjusted log asks for.

    Parameters
    ----------
    weights
        Those with which it was adjusted.
    solution
        What came out.
    """
    chains, ties, fixes, bearings = equations(solution.network, solution.figure, solution.shared)
    return replace(
        weights,
        legs=_weight(_leg_misfit2(weights, solution, chains), 2),
        ties=_weight(_misfit2(ties, solution) / weights.ties, 2),
        fixes=_weight(_misfit2(fixes, solution) / weights.fixes, 2),
        bearings=_weight(_misfit2(bearings, solution) / weights.bearings, 1),
    )


def trust_back_azimuths(weights: Weights, reckoning: Reckoning, observations: Observations) -> Weights:
    """Trust a back azimuth less that is far from what its leg says."""
    trust = np.ones(len(observations.back_azimuths))
    for k, back in enumerate(observations.back_azimuths):
        leg = back.leg - 1
        off_deg = turn_deg(reckoning.azimuth_deg[leg], back.azimuth_deg - 180.0)
        sine, cosine = (
            np.sin(np.radians(reckoning.azimuth_deg[leg])),
            np.cos(np.radians(reckoning.azimuth_deg[leg])),
        )
        across = np.array([cosine, -sine]) / reckoning.length[leg]
        variance = np.degrees(1.0) ** 2 * across @ reckoning.own[leg] @ across + back.sd_deg**2
        trust[k] = min(1.0, (FREEDOM + 1.0) / (FREEDOM + off_deg**2 / variance))
    return replace(weights, back_azimuths=trust)


def _weight(misfit2: Array, size: int) -> Array:
    weight: Array = np.maximum((FREEDOM + size) / (FREEDOM + misfit2), LEAST_TRUST)
    return weight


def _misfit2(one: Equations, solution: Solution) -> Array:
    """The expected square of each misfit, in its present weight: of what is left and of its doubt."""
    covariance = misfit_covariance(one, solution)
    square = np.einsum("fi,fij,fj->f", one.misfit, one.weight, one.misfit)
    expected: Array = square + np.einsum("fij,fji->f", one.weight, covariance)
    return expected


def _leg_misfit2(weights: Weights, solution: Solution, chains: Equations) -> Array:
    """The expected square of every leg's own error, in the scatter it was believed to have."""
    folded = solution.network.chains
    own, chain = folded.legs.own, folded.chain_of[:-1]
    inverse = chains.weight
    pull = np.zeros((folded.junctions.size, 2))
    pull[:-1] = (inverse @ chains.misfit[..., None])[..., 0]
    checked = np.zeros((folded.junctions.size, 2, 2))
    checked[:-1] = inverse @ (folded.covariance - misfit_covariance(chains, solution)) @ inverse
    square = np.einsum("ni,nij,nj->n", pull[chain], own, pull[chain])
    expected: Array = (square + 2.0 - np.einsum("nij,nji->n", checked[chain], own)) / weights.legs
    return expected
