-- What field work is called on paper, in lower case, and the cost item it is. Other names are items of their own, and
-- the trade's field_work asks about those that sound like one of these. Common practice, no source.
create or replace view operation_items as
select unnest(names) as operation, item
from (
    values
    (
        [
            'windrowing', 'windrow', 'windrowed', 'windrower', 'swathing', 'swath', 'swathed', 'swather',
            'custom windrowing', 'custom swathing'
        ],
        'windrowing'
    ),
    (['rolling', 'roll', 'rolled', 'windrow rolling', 'swath rolling', 'rolling windrows', 'rolling swaths'], 'rolling'),
    (
        [
            'pre-harvest product', 'preharvest product', 'pre harvest product', 'pre-harvest chemical', 'desiccant',
            'product'
        ],
        'pre-harvest product'
    ),
    (
        [
            'application', 'pre-harvest application', 'preharvest application', 'pre harvest application', 'applying',
            'spraying', 'spray', 'sprayed', 'sprayer', 'custom spraying', 'pre-harvest spraying', 'preharvest spraying',
            'pre harvest spraying', 'custom application', 'aerial application', 'aerial spraying'
        ],
        'application'
    ),
    (
        [
            'combining', 'combine', 'combined', 'harvesting', 'harvest', 'custom combining', 'straight combining',
            'straight combine', 'straight cutting', 'straight-cutting', 'straight cut', 'straight-cut', 'direct combining',
            'threshing', 'picking up'
        ],
        'combining'
    ),
    (['drying', 'dry', 'dried', 'grain drying', 'custom drying'], 'drying'),
    (
        [
            'freight', 'hauling', 'haul', 'hauled', 'trucking', 'truck', 'trucked', 'custom hauling', 'custom trucking',
            'grain hauling', 'delivery'
        ],
        'freight'
    )
) as given (names, item);
