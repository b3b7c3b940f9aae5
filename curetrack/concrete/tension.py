"""Tension and stiffness from compressive strength: EN 1992-1-1:2004 and ACI 318-19, side by side.

They differ for a thin slab: EN raises the flexural tensile strength of shallow sections (1.56-fold at 40 mm) and gives
means, ACI does not. Lifting uses ACI's modulus of rupture (handling); the EN values are information.
"""

from math import log, sqrt

from curetrack.units import require

__all__ = [
    "aci318_modulus_MPa", "aci318_modulus_psi", "aci318_modulus_short_MPa", "ecm_GPa", "ecm_at_age_GPa",
    "fctm_MPa", "fctm_at_age_MPa", "fctm_fl_MPa", "modulus_of_rupture_MPa",
]  # fmt: skip


def modulus_of_rupture_MPa(fc_MPa: float) -> float:
    """fr = 0.62 sqrt(fc) [MPa], fc 0 to 200 MPa, normal-weight concrete (ACI 318-19, eq. 19.2.3.1)."""
    return 0.62 * sqrt(_require_fc(fc_MPa))


def fctm_MPa(fck_MPa: float) -> float:
    """Mean axial tensile strength [MPa] of characteristic fck 1 to 100 MPa: 0.30 fck^(2/3) to C50/60, above it
    2.12 ln(1 + fcm/10) with fcm = fck + 8 (EN 1992-1-1, Table 3.1)."""
    fck = require("characteristic strength", fck_MPa, 1.0, 100.0, "MPa")
    return 0.30 * fck ** (2.0 / 3.0) if fck <= 50.0 else 2.12 * log(1.0 + (fck + 8.0) / 10.0)


def fctm_at_age_MPa(fctm_28d_MPa: float, beta_cc: float, alpha: float) -> float:
    """fctm(t) = beta_cc(t)^alpha fctm (EN 1992-1-1, eq. 3.4); alpha is 1 before 28 days and 2/3 after."""
    fctm = require("tensile strength", fctm_28d_MPa, 0.0, 20.0, "MPa")
    beta = require("beta_cc", beta_cc, 0.0, 2.0, "")
    return float(beta ** require("alpha", alpha, 0.5, 1.0, "")) * fctm  # eq. 3.4


def fctm_fl_MPa(fctm: float, depth_m: float) -> float:
    """Mean flexural tensile strength [MPa] of a section `depth_m` deep (0.005 to 5 m):
    max(1.6 - h/1000, 1) fctm, h in mm (EN 1992-1-1, eq. 3.23)."""
    tensile = require("tensile strength", fctm, 0.0, 50.0, "MPa")
    depth = require("depth", depth_m, 0.005, 5.0, "m")
    return max(1.6 - depth, 1.0) * tensile  # eq. 3.23


def ecm_GPa(fcm_MPa: float) -> float:
    """Secant modulus [GPa] of mean strength fcm 1 to 110 MPa: 22 (fcm/10)^0.3 (EN 1992-1-1, Table 3.1)."""
    fcm = require("mean strength", fcm_MPa, 1.0, 110.0, "MPa")
    return float(22.0 * (fcm / 10.0) ** 0.3)


def ecm_at_age_GPa(ecm_28d_GPa: float, beta_cc: float) -> float:
    """Ecm(t) = beta_cc(t)^0.3 Ecm (EN 1992-1-1, eq. 3.5; Model Code 2010 takes the square root instead)."""
    ecm = require("modulus", ecm_28d_GPa, 0.0, 100.0, "GPa")
    return float(require("beta_cc", beta_cc, 0.0, 2.0, "") ** 0.3) * ecm  # eq. 3.5


def aci318_modulus_MPa(fc_MPa: float, density_kg_m3: float) -> float:
    """Ec = 0.043 w^1.5 sqrt(fc) [MPa], w 1440 to 2560 kg/m3 (ACI 318-19, 19.2.2.1a)."""
    density = require("density", density_kg_m3, 1440.0, 2560.0, "kg/m3")
    return 0.043 * float(density**1.5) * sqrt(_require_fc(fc_MPa))


def aci318_modulus_short_MPa(fc_MPa: float) -> float:
    """Ec = 4700 sqrt(fc) [MPa] for normal-weight concrete (ACI 318-19, 19.2.2.1b)."""
    return 4700.0 * sqrt(_require_fc(fc_MPa))


def aci318_modulus_psi(fc_psi: float, density_lb_ft3: float) -> float:
    """Ec = 33 w^1.5 sqrt(fc) [psi], w 90 to 160 lb/ft3, the form as it stands in the US edition."""
    fc = require("compressive strength", fc_psi, 0.0, 30_000.0, "psi")
    density = require("density", density_lb_ft3, 90.0, 160.0, "lb/ft3")
    return 33.0 * float(density**1.5) * sqrt(fc)


def _require_fc(fc_MPa: float) -> float:
    return require("compressive strength", fc_MPa, 0.0, 200.0, "MPa")
