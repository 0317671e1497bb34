-- Rows of removed_rows go, rows of saved_rows come or replace the row with the same key.
merge into draws using removed_rows using (crop_year, pair) when matched then delete;
merge into draws using saved_rows using (crop_year, pair)
when matched then update by name when not matched then insert by name;
