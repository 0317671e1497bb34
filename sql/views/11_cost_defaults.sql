-- One row per cost item: the default rate with its range, region, year and source, CAD. `basis` says how it is known:
-- read in the source, derived from read values, from memory, or assumed. Prices have no default.
create or replace view cost_defaults as
select * from (
    values
    (
        'windrowing', 10.0, 12.5, 15.0, '$/ac', 'Manitoba', 2020, 'read',
        'custom windrowing, Manitoba Agriculture figures quoted in a grain handler article, 2020; middle of the range'
    ),
    (
        'rolling', 5.0, 7.0, 10.0, '$/ac', 'Ontario', 2015, 'read',
        'custom packing or rolling, Ontario Ministry of Agriculture survey of custom farmwork rates, 2015'
    ),
    (
        'pre-harvest product', 20.0, 22.5, 25.0, '$/ac', 'Manitoba', 2016, 'derived',
        'standing with a product cost 17 to 22 more than windrowing (Prairie Agricultural Machinery Institute, 2016); '
        || 'plus windrowing 12.5, less application 9.5'
    ),
    (
        'application', 8.0, 9.5, 12.0, '$/ac', 'Prairies', 2020, 'from memory',
        'custom high-clearance spraying, order of magnitude; no provincial guide could be read'
    ),
    (
        'combining', 28.0, 34.0, 45.0, '$/ac', 'Prairies', 2020, 'from memory',
        'custom combining, order of magnitude; the same for both methods, so that a default makes no difference'
    ),
    (
        'wheel tracks', 0.0, 0.0, 3.0, '%', 'anywhere', null, 'assumed',
        'nothing: tickets already lack the tramped canola; a rate counts only what the weighed acres left out'
    ),
    (
        'drying', 0.0, 0.0, 0.0, '$/t a point', 'anywhere', null, 'assumed',
        'nothing counted; no published rate could be read. By point of moisture above 10.0 %'
    ),
    (
        'freight', 0.0, 0.0, 0.0, '$/t', 'anywhere', null, 'assumed',
        'nothing counted; no published rate could be read'
    )
) as defaults (item, low, middle, high, unit, region, year, basis, source);
