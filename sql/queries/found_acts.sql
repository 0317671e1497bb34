-- The numbers of the acts that a search finds; what is null is not looked for, and $narrow says whether any is not.
select act_id
from acts
where
    ($done_by::varchar is null or done_by = $done_by)
    and (
        not $narrow
        or act_id in (
            select act_id
            from act_places
            where
                ($crop_year::bigint is null or crop_year = $crop_year)
                and ($field::varchar is null or field = $field or second_field = $field)
                and ($table::varchar is null or table_name = $table)
        )
    );
