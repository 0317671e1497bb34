-- Rows of removed_rows go, rows of saved_rows come or replace the row with the same key.
merge into column_matches using removed_rows using (name, table_name, column_name) when matched then delete;
merge into column_matches using saved_rows using (name, table_name, column_name)
when matched then update by name when not matched then insert by name;
