r"""A table of tangents split into what instruments share and where they differ. Layer: engine.diagnosis.

Instrument i at reading j: :math:`y_{ij} = a_i + b\,x_j + c_j + e_{ij}`, with :math:`e_{ij}` of standard
uncertainty :math:`\sigma_i` and :math:`c_j` (the usual unrest of the ship) common to all instruments of a reading.
Divided by :math:`\sigma_i`, the space left by the zeros :math:`a_i` falls into two orthogonal parts: the *common*
one, along which :math:`c_j` acts (variance :math:`1 + \sigma_c^2\sum_i\sigma_i^{-2}`), and the *device* one, in which
it cancels (variance 1). A gust lives in the first only, a pendulum's wrong length in the second only, one bad
reading in both. With readings missed the common part's variance is that of a reading with the mean number of
instruments: an approximation.
"""

from dataclasses import dataclass

import numpy as np

from engine.checks import Floats


@dataclass(frozen=True, eq=False)
class Modes:
    """The two parts of the space of readings.

    Attributes
    ----------
    known : (p, n) bool
        Readings taken.
    weight : (p, n) float64
        1/σ_i, 0 where missed.
    common_basis : (p n, c) float64
        Orthonormal, of the common part.
    outer_basis : (p n, k) float64
        Orthonormal, of the zeros and the common part together; the device part is what it leaves.
    device_freedom, common_freedom : int
        Dimensions of the two parts; the slope takes one more from the common part.
    """

    known: np.ndarray
    weight: Floats
    common_basis: Floats
    outer_basis: Floats
    device_freedom: int
    common_freedom: int

    def split(self, columns: Floats) -> tuple[Floats, Floats]:
        """Return the device (p n, k) and common (c, k) coordinates of (p, n, k) columns of tangents."""
        scaled = (columns * self.weight[:, :, None]).reshape(self.weight.size, -1)
        device = scaled - self.outer_basis @ (self.outer_basis.T @ scaled)
        return device, self.common_basis.T @ scaled


def modes(*, known: np.ndarray, standard_uncertainty_ratio: Floats) -> Modes:
    """Split the readings taken.

    Parameters
    ----------
    known : (p, n) bool
        Readings taken.
    standard_uncertainty_ratio : (p,) float64
        σ_i of one reading, as a tangent, above 0.
    """
    p, n = known.shape
    weight = np.where(known, 1.0 / standard_uncertainty_ratio[:, None], 0.0)
    zeros = np.zeros((p, n, p))
    zeros[np.arange(p), :, np.arange(p)] = known
    first = zeros.reshape(p * n, p)
    first = first / np.maximum(np.sqrt(first.sum(axis=0)), 1.0)
    common = _of_full_table(weight) if known.all() else _of_any_table(weight, first)
    used = int((first.max(axis=0) > 0).sum())
    return Modes(
        known=known,
        weight=weight,
        common_basis=common,
        outer_basis=np.concatenate([first, common], axis=1),
        device_freedom=int(known.sum()) - used - common.shape[1],
        common_freedom=common.shape[1],
    )


def _of_full_table(weight: Floats) -> Floats:
    """Return the common basis with no reading missed: weights over instruments times cosines over readings."""
    p, n = weight.shape
    along = weight[:, 0] / np.sqrt(np.sum(weight[:, 0] ** 2))
    wave = np.sqrt(2 / n) * np.cos(np.pi / n * (np.arange(n)[:, None] + 0.5) * np.arange(1, n))  # orthonormal, sums 0
    return np.asarray((along[:, None, None] * wave).reshape(p * n, n - 1))


def _of_any_table(weight: Floats, zeros: Floats) -> Floats:
    """Return the common basis by a singular value decomposition of what the zeros leave of each reading's effect."""
    p, n = weight.shape
    shared = np.zeros((p, n, n))
    shared[:, np.arange(n), np.arange(n)] = weight
    rest = shared.reshape(p * n, n)
    rest = rest / np.maximum(np.linalg.norm(rest, axis=0), 1e-300)
    rest = rest - zeros @ (zeros.T @ rest)
    u, size, _ = np.linalg.svd(rest, full_matrices=False)
    return np.asarray(u[:, size > 1e-8])
