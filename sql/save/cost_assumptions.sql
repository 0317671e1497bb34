-- Rows of removed_rows go, rows of saved_rows come or replace the row with the same key.
merge into cost_assumptions using removed_rows using (item) when matched then delete;
merge into cost_assumptions using saved_rows using (item)
when matched then update by name when not matched then insert by name;
