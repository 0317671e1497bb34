-- Rows of removed_rows go, rows of saved_rows come or replace the row with the same key.
merge into plot_totals using removed_rows using (crop_year, field, plot) when matched then delete;
merge into plot_totals using saved_rows using (crop_year, field, plot)
when matched then update by name when not matched then insert by name;
