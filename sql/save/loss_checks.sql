-- Rows of removed_rows go, rows of saved_rows come or replace the row with the same key.
merge into loss_checks using removed_rows using (crop_year, field, plot, checked_on, place, spot) when matched then delete;
merge into loss_checks using saved_rows using (crop_year, field, plot, checked_on, place, spot)
when matched then update by name when not matched then insert by name;
