-- Where a person typed last and has not saved yet.
select
    paper,
    crop_year,
    field,
    plot,
    typed_by
from drafts
where typed_by = $typed_by
order by typed_at desc
limit 1;
