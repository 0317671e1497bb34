-- Rows of removed_rows go, rows of saved_rows come or replace the row with the same key. A blank field is part of
-- the key (the whole farm), so null equals null here.
merge into weather using removed_rows
on weather.happened_on = removed_rows.happened_on
    and weather.field is not distinct from removed_rows.field
    and weather.event = removed_rows.event
when matched then delete;
merge into weather using saved_rows
on weather.happened_on = saved_rows.happened_on
    and weather.field is not distinct from saved_rows.field
    and weather.event = saved_rows.event
when matched then update by name when not matched then insert by name;
