-- A plot in two pairs, or on the wrong side of one.
with sides as (
    select crop_year, pair, standing_field as field, standing_plot as plot, 'standing' as side
    from pairs where standing_plot is not null
    union all
    select crop_year, pair, windrowed_field, windrowed_plot, 'windrowed'
    from pairs where windrowed_plot is not null
)

select
    'pairs: ' || field || ' ' || plot || ', ' || crop_year || ' is in pairs ' || string_agg(pair, ', ' order by pair)
    || '; a plot belongs to one.' as problem
from sides
group by crop_year, field, plot
having count(*) > 1
union all
select
    'pairs: ' || sides.field || ' ' || sides.plot || ', ' || sides.crop_year || ' stands as ' || sides.side
    || ' in pair ' || sides.pair || ' and was ' || plots.method || '.'
from sides
inner join plots using (crop_year, field, plot)
where plots.method <> sides.side;
