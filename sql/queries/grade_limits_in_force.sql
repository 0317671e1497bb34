-- The limits of a jurisdiction that hold in a crop year.
select *
from grade_limits
where
    jurisdiction = $jurisdiction
    and $crop_year >= coalesce(first_crop_year, $crop_year)
    and $crop_year <= coalesce(last_crop_year, $crop_year);
