-- Rows of removed_rows go, rows of saved_rows come or replace the row with the same key.
merge into bin_checks using removed_rows using (crop_year, bin, checked_on, place) when matched then delete;
merge into bin_checks using saved_rows using (crop_year, bin, checked_on, place)
when matched then update by name when not matched then insert by name;
