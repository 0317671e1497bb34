-- One row per pair and side: its plot, null where that side was not named. pair_field is the one name of the pair's
-- ground: the field, or both fields of a pair of neighbours.
create or replace view pair_plots as
with named as (
    select
        *,
        case
            when standing_field <> windrowed_field then standing_field || ' / ' || windrowed_field
            else coalesce(standing_field, windrowed_field)
        end as pair_field
    from pairs
)

select crop_year, pair, pair_field, 'standing' as side, standing_field as field, standing_plot as plot from named
union all
select crop_year, pair, pair_field, 'windrowed', windrowed_field, windrowed_plot from named;
