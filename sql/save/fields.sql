-- Rows of removed_rows go, rows of saved_rows come or replace the row with the same key.
merge into fields using removed_rows using (field) when matched then delete;
merge into fields using saved_rows using (field)
when matched then update by name when not matched then insert by name;
