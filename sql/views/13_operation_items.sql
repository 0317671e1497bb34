-- What field work is called on paper, in lower case, and the cost item it is. Other names are items of their own.
create or replace view operation_items as
select * from (
    values
    ('windrowing', 'windrowing'),
    ('swathing', 'windrowing'),
    ('rolling', 'rolling'),
    ('windrow rolling', 'rolling'),
    ('pre-harvest product', 'pre-harvest product'),
    ('preharvest product', 'pre-harvest product'),
    ('desiccant', 'pre-harvest product'),
    ('application', 'application'),
    ('pre-harvest application', 'application'),
    ('combining', 'combining'),
    ('straight combining', 'combining'),
    ('drying', 'drying'),
    ('freight', 'freight'),
    ('hauling', 'freight'),
    ('trucking', 'freight')
) as names (operation, item);
