-- Rows of removed_rows go, rows of saved_rows come or replace the row with the same key.
merge into field_distances using removed_rows using (field, other_field) when matched then delete;
merge into field_distances using saved_rows using (field, other_field)
when matched then update by name when not matched then insert by name;
