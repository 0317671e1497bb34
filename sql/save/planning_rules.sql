-- Rows of removed_rows go, rows of saved_rows come or replace the row with the same key.
merge into planning_rules using removed_rows using (rule) when matched then delete;
merge into planning_rules using saved_rows using (rule)
when matched then update by name when not matched then insert by name;
