"""Problems of each kind in the plain form that the commands read."""

from typing import Any


def dose(**fields: Any) -> dict[str, Any]:
    return {"kind": "dose", **fields}


def drip(**fields: Any) -> dict[str, Any]:
    return {"kind": "drip", **fields}


def weight(text: str, **fields: Any) -> dict[str, Any]:
    return {"kind": "weight", "from": text, **fields}


def oxygen(**fields: Any) -> dict[str, Any]:
    given = {"factor": "0.28 L/psi", "pressure": "1000 psi", "residual": "200 psi"}
    return {"kind": "oxygen", "flow": "10 L/min", **given, **fields}


def burn(**fields: Any) -> dict[str, Any]:
    return {"kind": "burn", "weight": "80 kg", "area": "30 %", "per": "2 mL/kg/%", **fields}


def energy(**fields: Any) -> dict[str, Any]:
    return {"kind": "energy", "per_weight": "2 J/kg", "max": "200 J", **fields}


TEN_KG = {"weight": "10 kg", "per_weight": "0.1 mg/kg"}


# 1 mg by weight.
TEN_KG = {"weight": "10 kg", "per_weight": "0.1 mg/kg"}
