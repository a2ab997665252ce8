"""An independent look at a layout: it shares no code with the search."""

from service.core.housing.tiling import Tiling


def faults(
    tiling: Tiling, inner_width_nm: int, inner_depth_nm: int, tray_width_nm: int, tray_depth_nm: int, play_nm: int
) -> list[str]:
    """What is wrong with a layout, in words; nothing when each tray lies free and inside the drawer."""
    found = [] if len(tiling.places) == tiling.count else ["count is not the number of places"]
    open_cells: list[tuple[int, int, int, int]] = []
    for place in tiling.places:
        size = (place.depth_nm, place.width_nm) if place.turned else (place.width_nm, place.depth_nm)
        if size != (tray_width_nm, tray_depth_nm):
            found.append(f"{place} is not a tray of this size")
        right, back = place.x_nm + place.width_nm + play_nm, place.y_nm + place.depth_nm + play_nm
        if place.x_nm < 0 or place.y_nm < 0 or right > inner_width_nm or back > inner_depth_nm:
            found.append(f"{place} leaves the drawer")
        for x, y, other_right, other_back in open_cells:
            if place.x_nm < other_right and x < right and place.y_nm < other_back and y < back:
                found.append(f"{place} overlaps the tray at {x}, {y}")
        open_cells.append((place.x_nm, place.y_nm, right, back))
    own_area = tiling.count * tray_width_nm * tray_depth_nm
    if tiling.left_over_mm2 != (inner_width_nm * inner_depth_nm - own_area) // 10**12:
        found.append("left over is not the drawer's area without the trays'")
    return found


def most_by_trying_everything(width: int, depth: int, long: int, short: int) -> int:
    """The most trays, trying every way to cover or leave the first free cell of a unit grid; for small drawers."""
    known: dict[tuple[int, ...], int] = {}

    def most(rows: tuple[int, ...]) -> int:
        """Trays that still fit when bit x of row y tells that the cell is taken."""
        y = next((number for number, row in enumerate(rows) if row != (1 << width) - 1), depth)
        if y == depth:
            return 0
        rest = rows[y:]
        if rest not in known:
            x = next(x for x in range(width) if not rest[0] >> x & 1)
            best = most((rest[0] | 1 << x, *rest[1:]))
            for across, along in {(long, short), (short, long)}:
                strip = ((1 << across) - 1) << x
                if x + across <= width and along <= len(rest) and not any(row & strip for row in rest[:along]):
                    best = max(best, 1 + most((*(row | strip for row in rest[:along]), *rest[along:])))
            known[rest] = best
        return known[rest]

    return most((0,) * depth)
