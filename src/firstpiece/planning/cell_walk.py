"""The walk over the cells of one area: out over bare cloth, filling on the way back.

Cells hang together in a tree from the cell at the entry. The chain of cells from entry to exit is
filled going forward; every side branch is run out and filled coming back, so that all travel lies
under later rows. Input: a ``RowGrid``. Output: one ``Path`` in the grid's turned frame.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from firstpiece.geometry.polyline import run_along
from firstpiece.kernels.scanline import lay_rows, walk_spans, widen_spans
from firstpiece.model.stitch import Relief, Role
from firstpiece.planning.compensation import pull_share
from firstpiece.planning.path import Path, join_paths, make_path
from firstpiece.planning.row_relief import feathered, row_phase

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from firstpiece.geometry.rows import RowGrid

    Floats = NDArray[np.float64]
    Link = tuple[int, int, int, int]  # own end, other cell, other's end, overlapping pair
    Step = tuple[str, int, int, int]  # what to do, cell, its end, overlapping pair

TRAVEL_STEP_MM = 2.5
TRAVEL_MARGIN_MM = 0.5
# What a mm of travel under rows to come counts against a mm along a row already sewn.
HIDDEN_SHARE = 0.4
LOW, HIGH = 0, 1


@dataclass(frozen=True, slots=True)
class RowSettings:
    """How rows are laid.

    Parameters
    ----------
    angle_rad : float [rad]
        Direction of the rows.
    spacing_mm, length_mm : float [mm]
        Distance of rows and length of stitches.
    edge_mm : float [mm]
        Distance of the outermost rows from the area's extremes.
    pull_mm : float [mm]
        Full pull of the cloth on each side; short rows are widened by their share of it.
    turn_mm : float [mm]
        How far a thread covers past its penetration: rows end this much earlier.
    role : Role
    relief : Relief
        Pattern of the needle's places.
    feather_mm : float [mm]
        How deep row ends are staggered.
    """

    angle_rad: float
    spacing_mm: float
    length_mm: float
    edge_mm: float
    pull_mm: float = 0.0
    turn_mm: float = 0.0
    role: Role = Role.COVER
    relief: Relief = Relief.EVEN
    feather_mm: float = 0.0


@dataclass(slots=True)
class CellWalk:
    """One walk over a connected group of cells, building its path as it goes."""

    grid: RowGrid
    settings: RowSettings
    group: list[int]
    entry: Floats
    here: Floats = field(init=False)
    parts: list[Path] = field(init=False)
    left: Floats = field(init=False)
    right: Floats = field(init=False)
    phase: Floats = field(init=False)
    links: dict[int, list[Link]] = field(init=False)
    children: dict[int, list[Link]] = field(init=False)

    def __post_init__(self) -> None:
        g, s = self.grid, self.settings
        self.here = self.entry
        self.parts = []
        widen = s.pull_mm * pull_share(g.right_mm - g.left_mm) - s.turn_mm
        self.left, self.right = widen_spans(g.row_start, g.left_mm, g.right_mm, widen)
        if s.feather_mm > 0:
            self.left, self.right = feathered(self.left, self.right, g.row, s.feather_mm)
        origin = float(g.left_mm.min())
        self.phase = origin + row_phase(g.row, s.relief) * s.length_mm
        self.links = {c: [] for c in self.group}
        for k, (a, b) in enumerate(g.links):
            ca, cb = int(g.cell[a]), int(g.cell[b])
            if ca in self.links:
                self.links[ca].append((HIGH, cb, LOW, k))
                self.links[cb].append((LOW, ca, HIGH, k))

    def sew(self, goal: Floats | None) -> Path:
        """Sew the group from the cell end nearest the entry to the one nearest the goal."""
        root, near = self._nearest_end(self.entry)
        parent = self._grow_tree(root)
        last, end = self._deepest(root, parent) if goal is None else self._nearest_end(goal)
        chain = [last]
        while chain[-1] != root:
            chain.append(parent[chain[-1]][0])
        chain.reverse()
        if len(chain) == 1 and end == near:
            self._run([("visit", root, near, -1)])
        else:
            self._run_chain(chain, near, end, parent)
        return join_paths(self.parts)

    def _run_chain(
        self, chain: list[int], near: int, end: int, parent: dict[int, tuple[int, Link]]
    ) -> None:
        """Fill the cells of the chain going forward; side cells are filled out and back."""
        for k, cell in enumerate(chain):
            if k:
                link = parent[cell][1]
                self._cross(link)
                near = link[2]
            following = chain[k + 1] if k + 1 < len(chain) else -1
            if following < 0 and end == near:
                self._run([("visit", cell, near, -1)])
                return
            ahead = [c for c in self.children[cell] if c[1] != following]
            out = parent[following][1][0] if following >= 0 else 1 - near
            onward = parent[following][1][3] if following >= 0 else -1
            self._run(self._side_trips(ahead, near))
            if out == near:
                # The chain leaves by the side it came in: fill out and back, then go on.
                self._run(self._side_trips(ahead, 1 - near, through=(cell, near)))
                self._fill(cell, 1 - near, onward)
            else:
                self._fill(cell, near, onward)
                self._run(self._side_trips(ahead, 1 - near))

    def _side_trips(
        self, links: list[Link], end: int, through: tuple[int, int] | None = None
    ) -> list[Step]:
        """Return the steps that fill all child cells at one end of a cell and come back."""
        steps: list[Step] = []
        if through is not None:
            steps.append(("walk", through[0], through[1], -1))
        for link in links:
            if link[0] == end:
                steps += [("cross", 0, link[0], link[3]), ("visit", link[1], link[2], link[3])]
        return steps

    def _run(self, steps: list[Step]) -> None:
        """Carry out steps; a visit is replaced by its own steps, so no recursion is needed."""
        todo = steps[::-1]
        while todo:
            word, cell, end, link = todo.pop()
            if word == "cross":
                self._cross((end, 0, 0, link))
            elif word == "walk":
                self._travel_through(cell, end)
            elif word == "fill":
                self._fill(cell, end, link)
            else:
                more = self._side_trips(self.children[cell], end)
                more += self._side_trips(self.children[cell], 1 - end, through=(cell, end))
                more.append(("fill", cell, 1 - end, link))
                if link >= 0:
                    more.append(("cross", 0, end, link))
                todo += more[::-1]

    def _grow_tree(self, root: int) -> dict[int, tuple[int, Link]]:
        """Return the breadth-first tree of cells: parent and the parent's link to each."""
        parent: dict[int, tuple[int, Link]] = {root: (-1, (0, 0, 0, -1))}
        self.children = {c: [] for c in self.group}
        queue = deque([root])
        while queue:
            cell = queue.popleft()
            for link in self.links[cell]:
                if link[1] not in parent:
                    parent[link[1]] = (cell, link)
                    self.children[cell].append(link)
                    queue.append(link[1])
        return parent

    def _nearest_end(self, place: Floats) -> tuple[int, int]:
        """Return the cell and the end of it that lie nearest to a place."""
        g = self.grid
        firsts = np.array([[g.cells[c][0], g.cells[c][-1]] for c in self.group])
        x = np.clip(place[0], g.left_mm[firsts], g.right_mm[firsts])
        gaps = np.hypot(x - place[0], g.y_mm[firsts] - place[1])
        k = int(np.argmin(gaps))
        return self.group[k // 2], k % 2

    def _deepest(self, root: int, parent: dict[int, tuple[int, Link]]) -> tuple[int, int]:
        """Return the cell end whose chain from the root holds most rows: least travel in all."""
        rows = {root: len(self.grid.cells[root])}
        best = root
        for cell, (mother, _) in parent.items():
            if cell != root:
                rows[cell] = rows[mother] + len(self.grid.cells[cell])
            if rows[cell] > rows[best]:
                best = cell
        near = parent[best][1][2] if best != root else self._nearest_end(self.entry)[1]
        return best, 1 - near

    def _fill(self, cell: int, start: int, onward: int) -> None:
        """Fill a cell from one end so that the last row ends by the way onward, if there is one."""
        spans = self.grid.cells[cell] if start == LOW else self.grid.cells[cell][::-1]
        left, right = self.left[spans], self.right[spans]
        side = min((0, 1), key=lambda side: self._side_cost(left, right, side, onward))
        rows = lay_rows(
            left, right, self.grid.y_mm[spans], self.phase[spans], self.settings.length_mm, side
        )
        self._move(rows[:1])
        self._add(rows, self.settings.role)

    def _side_cost(self, left: Floats, right: Floats, side: int, onward: int) -> float:
        """Return the travel that beginning at a side costs; after the rows it would lie on top."""
        before = abs(float(self.here[0]) - float(left[0] if side == 0 else right[0]))
        if onward < 0:
            return before
        low, high = self._overlap(onward)
        ends_right = (side + len(left)) % 2 == 1
        after = float(right[-1]) - high if ends_right else low - float(left[-1])
        return HIDDEN_SHARE * before + max(0.0, after)

    def _travel_through(self, cell: int, start: int) -> None:
        spans = self.grid.cells[cell] if start == LOW else self.grid.cells[cell][::-1]
        x = walk_spans(
            self.grid.left_mm[spans], self.grid.right_mm[spans], float(self.here[0]),
            TRAVEL_MARGIN_MM,
        )  # fmt: skip
        self._move(np.column_stack([x, self.grid.y_mm[spans]]))

    def _cross(self, link: Link) -> None:
        """Move from one cell to the next through the stretch where their end rows overlap."""
        g = self.grid
        a, b = g.links[link[3]]
        low, high = self._overlap(link[3])
        margin = min(TRAVEL_MARGIN_MM, (high - low) / 2)
        x = min(max(float(self.here[0]), low + margin), high - margin)
        near, far = (a, b) if abs(self.here[1] - g.y_mm[a]) <= abs(self.here[1] - g.y_mm[b]) else (
            b, a)  # fmt: skip
        self._move(np.array([[x, g.y_mm[near]], [x, g.y_mm[far]]]))

    def _overlap(self, link: int) -> tuple[float, float]:
        """Return the stretch that the two rows of a link share [mm]."""
        a, b = self.grid.links[link]
        low = max(self.grid.left_mm[a], self.grid.left_mm[b])
        high = min(self.grid.right_mm[a], self.grid.right_mm[b])
        return float(low), float(high)

    def _move(self, xy: Floats) -> None:
        """Travel along a line in hidden running stitches; the first move of all only lands."""
        if not self.parts:
            start = xy[:1] if len(xy) == 1 else np.vstack([xy[:1], xy])
            line = run_along(start, TRAVEL_STEP_MM)
        else:
            line = run_along(np.vstack([self.here, xy]), TRAVEL_STEP_MM)[1:]
        self._add(line, Role.TRAVEL)

    def _add(self, xy: Floats, role: Role) -> None:
        if len(xy):
            self.parts.append(make_path(xy, role))
            self.here = xy[-1]
