-- Rows of removed_rows go, rows of saved_rows come or replace the row with the same key.
merge into share_codes using removed_rows using (kind, name) when matched then delete;
merge into share_codes using saved_rows using (kind, name)
when matched then update by name when not matched then insert by name;
