-- One row per point that lies in a strip: its number and the strip's. A strip has four corners and so four sides; a
-- point is inside when it lies to the inner side of each. Each side is looked at from its lower end, so that of two
-- strips with a side in common a point on it is in one. Only strips that touch the point's square of cell_m metres are
-- asked: that join is by equal numbers, and takes no longer than reading the points.
select points.number, strip_cells.strip
from points
inner join strip_cells
    on strip_cells.cell_east = cast(floor(points.east_m / $cell_m) as integer)
    and strip_cells.cell_north = cast(floor(points.north_m / $cell_m) as integer)
where
    strip_cells.is_whole
    or (
        (east_1 * (points.north_m - from_north_1) - north_1 * (points.east_m - from_east_1) >= 0) = is_left_1
        and (east_2 * (points.north_m - from_north_2) - north_2 * (points.east_m - from_east_2) >= 0) = is_left_2
        and (east_3 * (points.north_m - from_north_3) - north_3 * (points.east_m - from_east_3) >= 0) = is_left_3
        and (east_4 * (points.north_m - from_north_4) - north_4 * (points.east_m - from_east_4) >= 0) = is_left_4
    );
