"""Which rod may stay where: coating and grade against exposure (basis b.2 and i)."""

HYDROGEN_ULTIMATE_PSI = 150e3
MARINE_GRADES = ("A4-", "A193 B8M")


def protected(exposure: str, coating: str, grade_name: str, stainless: bool, ultimate_psi: float) -> tuple[bool, str]:
    """Whether the rod is fit for the exposure, and the rule in words. Plated steel of 150 ksi and over never is."""
    if coating == "plated" and ultimate_psi >= HYDROGEN_ULTIMATE_PSI:
        return False, "a plated rod of 150 ksi or more ultimate strength can break by hydrogen: never enough"
    if exposure == "interior-dry":
        return True, "interior-dry asks for nothing"
    if exposure == "interior-wet":
        return coating in ("plated", "sealed") or stainless, "interior-wet asks for a plated, stainless or sealed rod"
    if exposure == "exterior":
        return coating == "sealed" or stainless, "exterior asks for a stainless or sealed rod"
    marine = grade_name.startswith(MARINE_GRADES)
    return coating == "sealed" or marine, "chloride asks for A4 or A193 B8M steel, or a sealed rod"
