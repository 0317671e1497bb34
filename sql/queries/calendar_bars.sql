-- Plots of a crop year with a day of combining: from when they ripened open to the weather.
select * exclude (crop_year)
from plot_ripening
where crop_year = $crop_year and harvested_on is not null
order by pair nulls last, method, field, plot;
