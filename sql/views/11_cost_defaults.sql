-- One row per cost item: the default rate with its range, region, year and source, CAD. `basis` says how it is known:
-- read in the source, derived from read values (partly from memory, where it says so), from memory, or assumed. Prices
-- have no default.
create or replace view cost_defaults as
select * from (
    values
    (
        'windrowing', 10.0, 12.5, 15.0, '$/ac', 'Manitoba', 2020, 'read',
        'custom windrowing, 10 to 15: Manitoba Agriculture, as quoted in an article of a grain handler, 2020 (title not '
        || 'kept); the middle of the range'
    ),
    (
        'rolling', 5.0, 7.0, 10.0, '$/ac', 'Ontario', 2015, 'read',
        'custom packing or rolling of land, not of windrows, for want of a rate for those: Ontario Ministry of Agriculture, '
        || 'Food and Rural Affairs, Survey of custom farmwork rates charged in 2015 (15th percentile, mean, 85th)'
    ),
    (
        'pre-harvest product', 20.0, 22.5, 25.0, '$/ac', 'Manitoba', 2016, 'derived, partly from memory',
        'standing with a product cost 17 to 22 more than windrowing (Prairie Agricultural Machinery Institute, 2016); '
        || 'plus windrowing 12.5 (2020), less application 9.5, which is from memory'
    ),
    (
        'application', 8.0, 9.5, 12.0, '$/ac', 'Prairies', null, 'from memory',
        'custom high-clearance spraying in the 2020s, order of magnitude; no provincial guide could be read'
    ),
    (
        'combining', 28.0, 34.0, 45.0, '$/ac', 'Prairies', null, 'from memory',
        'custom combining in the 2020s, order of magnitude; the same for both methods, so that a default makes no difference'
    ),
    (
        'windrowing by the hour', 0.0, 0.0, 0.0, '$/h', 'anywhere', null, 'assumed',
        'nothing: a rate typed here takes the place of the rate by the acre where the hours are on record'
    ),
    (
        'combining by the hour', 0.0, 0.0, 0.0, '$/h', 'anywhere', null, 'assumed',
        'nothing: a rate typed here takes the place of the rate by the acre where the hours are on record'
    ),
    (
        'wheel tracks', 0.0, 0.0, 3.0, '%', 'anywhere', null, 'assumed',
        'nothing: tickets already lack the tramped canola; a rate counts only what the weighed acres left out'
    ),
    (
        'drying', 0.0, 0.0, 0.0, '$/t a point', 'anywhere', null, 'assumed',
        'nothing counted; no published rate could be read. By point of moisture above what is dry'
    ),
    (
        'freight', 0.0, 0.0, 0.0, '$/t', 'anywhere', null, 'assumed',
        'nothing counted; no published rate could be read'
    )
) as defaults (item, low, middle, high, unit, region, year, basis, source);
