-- Every field as it stands for a crop year: its planting of that year, weeds and stand as last seen, the crop before.
with before as (
    select
        field,
        crop_year,
        weed_pressure,
        stand
    from plantings
    where crop_year <= $crop_year
    qualify row_number() over (partition by field order by crop_year desc) = 1
),

earlier as (
    select
        field,
        crop
    from plantings
    where crop_year < $crop_year
    qualify row_number() over (partition by field order by crop_year desc) = 1
)

select
    fields.field,
    fields.acres,
    fields.soil,
    fields.topography,
    fields.notes,
    planned.crop,
    planned.variety,
    planned.shatter_tolerant,
    planned.seeded_on,
    before.weed_pressure,
    before.stand,
    before.crop_year as known_from,
    earlier.crop as last_crop
from fields
left join before using (field)
left join earlier using (field)
left join plantings as planned on planned.field = fields.field and planned.crop_year = $crop_year
order by fields.field;
