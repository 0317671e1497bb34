-- Rows of removed_rows go, rows of saved_rows come or replace the row with the same key.
merge into spring_counts using removed_rows using (crop_year, field, plot, counted_on, spot) when matched then delete;
merge into spring_counts using saved_rows using (crop_year, field, plot, counted_on, spot)
when matched then update by name when not matched then insert by name;
