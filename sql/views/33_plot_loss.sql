-- One row per plot: the mean of the spots at each place, and the parts that follow. On the ground later counts hold
-- what lay there before, so a part is a difference and the last count is the whole. bu/ac.
-- Total = ground after the last pass of a knife or header + what the combine threw over. Null when either is unknown.
create or replace view plot_loss as
with place_means as (
    select
        crop_year,
        field,
        plot,
        avg(loss_bu_ac) filter (where place = 'ground before harvest') as before_bu_ac,
        avg(loss_bu_ac) filter (where place = 'ground after windrower') as after_windrower_bu_ac,
        avg(loss_bu_ac) filter (where place = 'ground behind header') as behind_header_bu_ac,
        avg(loss_bu_ac) filter (where place = 'pan behind combine') as combine_bu_ac,
        bool_or(loss_bu_ac is null) as is_seed_weight_unknown,
        count(*) as spots
    from loss_spots
    group by crop_year, field, plot
),

parts as (
    select
        plots.crop_year,
        plots.field,
        plots.plot,
        coalesce(place_means.spots, 0) as spots,
        place_means.is_seed_weight_unknown,
        place_means.before_bu_ac as shatter_bu_ac,
        place_means.after_windrower_bu_ac - place_means.before_bu_ac as windrower_bu_ac,
        place_means.behind_header_bu_ac
        - case when plots.method = 'standing' then place_means.before_bu_ac else place_means.after_windrower_bu_ac end
            as header_bu_ac,
        place_means.combine_bu_ac,
        case
            when plots.method = 'standing' then place_means.behind_header_bu_ac
            else coalesce(place_means.behind_header_bu_ac, place_means.after_windrower_bu_ac)
        end as ground_bu_ac,
        plots.method
    from plots
    left join place_means using (crop_year, field, plot)
)

select
    *,
    ground_bu_ac + combine_bu_ac as loss_bu_ac,
    case
        when spots = 0 then 'any loss check'
        when is_seed_weight_unknown then 'a thousand seed weight'
        when ground_bu_ac is null and method = 'standing' then 'a count on the ground behind the header'
        when ground_bu_ac is null then 'a count on the ground after the windrower'
        when combine_bu_ac is null then 'a pan behind the combine'
    end as missing
from parts;
