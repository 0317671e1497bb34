-- Rows of removed_rows go, rows of saved_rows come or replace the row with the same key.
merge into monitor_strips using removed_rows using (crop_year, field, plot) when matched then delete;
merge into monitor_strips using saved_rows using (crop_year, field, plot)
when matched then update by name when not matched then insert by name;
