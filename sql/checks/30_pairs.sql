-- A plot in two pairs, or on the wrong side of one.
select
    'pairs: ' || field || ' ' || plot || ', ' || crop_year || ' is in pairs ' || string_agg(pair, ', ' order by pair)
    || '; a plot belongs to one.' as problem
from pair_plots
where plot is not null
group by crop_year, field, plot
having count(*) > 1
union all
select
    'pairs: ' || pair_plots.field || ' ' || pair_plots.plot || ', ' || pair_plots.crop_year || ' is the ' || pair_plots.side
    || ' in pair ' || pair_plots.pair || ' and was ' || plots.method || '.'
from pair_plots
inner join plots using (crop_year, field, plot)
where plots.method <> pair_plots.side;
