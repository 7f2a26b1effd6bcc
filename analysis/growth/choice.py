"""Which curve the chicks grew by: the fits of all curves to the same weighings, weighed against each other."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.finding import Finding, Words, found
from analysis.growth.as_arrays import weighings_of
from analysis.growth.curves import CURVES, OF_THREE
from analysis.growth.mixed.result import MixedFit
from analysis.growth.mixed.starts import RANDOM, fit_mixed
from analysis.growth.mixed.straight import nothing_to_fit
from analysis.say import in_words

NAMED = {
    "logistic": found("growth.curve-logistic"),
    "gompertz": found("growth.curve-gompertz"),
    "von_bertalanffy": found("growth.curve-von-bertalanffy"),
}
# Evidence ratio of about 9 to 1 between two curves: below it none is said to stand out (practice, ours).
CLEAR = 0.9
# Of this weight a curve is possible: if it may be shown, it is preferred to a better one that may not (practice, ours).
POSSIBLE = 0.1
RUNNER_UP = (1 - CLEAR) / 2  # one of the two others has as much where the best is not clear


@dataclass(frozen=True, eq=False)
class Choice:
    """The curve that fits best, and what there is for it.

    Akaike weights say how much there is for each of the curves tried, one in all; 0 for a fit whose search did not come
    to rest where another's did. They belong to independent effects: where correlated ones were kept for the chosen
    curve, its fit is better than its weight says.
    """

    curve: str  # its name; blank where none could be fitted
    fits: Mapping[str, MixedFit]  # by name of their curve
    weights: pd.Series  # Akaike weights by name of the curves tried
    why: Words  # why there is no curve, or its numbers are not to be shown; blank where they may be
    found: Finding  # the choice

    @property
    def fit(self) -> MixedFit | None:
        """The fit of the chosen curve; None where there is none."""
        return self.fits.get(self.curve)

    @property
    def sentence(self) -> str:
        """The choice in plain words."""
        return in_words(self.found)


def choose_curve(
    frame: pd.DataFrame,
    random: Mapping[str, Sequence[str]] = RANDOM,
    error: str = "proportional",
    *,
    correlated: bool = False,
    curves: Sequence[str] = OF_THREE,
) -> Choice:
    """Fit the logistic, Gompertz's and von Bertalanffy's curve to the same weighings, and choose by AICc.

    The Akaike weight of a curve is e^(-Δ/2), Δ the distance of its AICc from the least, as a share of their sum
    (Burnham & Anderson 2002, *Model Selection and Multimodel Inference*, §2.9; from memory). A curve whose numbers may
    be shown is preferred to a better one whose numbers are no finding ("no bend yet"), but not against the weighings:
    its weight must be 0.1 at least.

    frame, random and error are as in `fit_mixed`; weighings that hold no curve raise nothing: see `why`. `correlated`:
    try also, for the chosen curve, that effects are correlated (`covariance="full"`: late chicks that grow large, say;
    without it they are thought to differ more at an age than they do), and keep that fit where its AICc is less. Of
    one curve alone there is nothing to choose, and its effects are correlated if asked.
    """
    if not curves:
        raise ValueError(f"There is no curve to choose from. Curves: {', '.join(OF_THREE)}.")
    why = nothing_to_fit(weighings_of(frame), CURVES["logistic"])
    alone = correlated and len(curves) == 1
    shape = "full" if alone else "diagonal"
    fits = {} if why else {name: fit_mixed(frame, name, error, random, shape) for name in curves}
    if alone and fits and fits[curves[0]].why:
        fits[curves[0]] = fit_mixed(frame, curves[0], error, random)
    # Those whose search came to rest; all where none did.
    at_rest = {name: fit for name, fit in fits.items() if fit.converged} or fits
    aicc = pd.Series({name: fit.aicc for name, fit in at_rest.items()}, dtype=float)
    weights = akaike_weights(aicc.where(np.isfinite(aicc)))
    if weights.empty:
        why = why or found("growth.none-to-choose")
        none = pd.Series(0.0, index=pd.Index(OF_THREE, name="curve"))
        return Choice("", fits, none, why, found("growth.no-curve", why=why))
    # The best curve, or the best of those that may be shown where the weighings do not speak against it.
    findings = [name for name, weight in weights.items() if not fits[str(name)].why and weight >= POSSIBLE]
    curve = str(weights[findings].idxmax() if findings else weights.idxmax())
    if correlated and not alone and not fits[curve].why:
        full = fit_mixed(frame, curve, error, random, "full")
        if not full.why and full.aicc < fits[curve].aicc:
            fits[curve] = full
    weights = weights.reindex(pd.Index([name for name in OF_THREE if name in curves], name="curve"), fill_value=0.0)
    return Choice(curve, fits, weights, fits[curve].why, _how_clear(curve, weights, fits))


def akaike_weights(aicc: pd.Series) -> pd.Series:
    """Weights of models by their AICc, one in all; those without an AICc are left out."""
    aicc = aicc.dropna()
    likely = np.exp(-(aicc - aicc.min()) / 2)
    return likely / likely.sum()


def _how_clear(curve: str, weights: pd.Series, fits: Mapping[str, MixedFit]) -> Finding:
    if fits[curve].why:
        return found("growth.none-to-show", why=fits[curve].why)
    if len(fits) == 1:
        return found("growth.given", curve=NAMED[curve])
    if weights[curve] < weights.max():
        return found("growth.best-to-show", curve=NAMED[curve])
    rest = [str(name) for name in weights.drop(curve).sort_values(ascending=False, kind="stable").index]
    clear = bool(weights[curve] >= CLEAR)
    others = [NAMED[name] for name in rest if fits[name].converged and (clear or weights[name] >= RUNNER_UP)]
    unsettled = [NAMED[name] for name in rest if not fits[name].converged]
    return found(
        "growth.best" if clear else "growth.best-not-clearly", curve=NAMED[curve], others=others, unsettled=unsettled
    )
