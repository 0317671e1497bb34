-- Rows of removed_rows go, rows of saved_rows come or replace the row with the same key.
merge into bins using removed_rows using (crop_year, bin) when matched then delete;
merge into bins using saved_rows using (crop_year, bin)
when matched then update by name when not matched then insert by name;
