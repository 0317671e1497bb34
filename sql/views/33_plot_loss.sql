-- One row per plot: the parts of its loss. On the ground later counts hold what lay there before, so a part is a
-- difference and the last count is the whole. bu/ac.
-- Total = ground behind the combine's header, which for windrowed canola is its pick-up, + what the combine threw over:
-- counted alike for both methods, null when either is unknown. At least = the last count made and the pan, as far as
-- they are known: what lay there cannot become less.
create or replace view plot_loss as
with places as (
    select
        crop_year,
        field,
        plot,
        max(mean_bu_ac) filter (where place = 'ground before harvest') as before_bu_ac,
        max(mean_bu_ac) filter (where place = 'ground after windrower') as after_windrower_bu_ac,
        max(mean_bu_ac) filter (where place = 'ground behind header') as behind_header_bu_ac,
        max(mean_bu_ac) filter (where place = 'pan behind combine') as combine_bu_ac,
        bool_or(place = 'ground behind header') as is_ground_counted,
        bool_or(place = 'pan behind combine') as is_pan_taken,
        bool_or(is_seed_weight_unknown and place in ('ground behind header', 'pan behind combine'))
            as is_seed_weight_unknown,
        bool_or(is_yield_unknown and place in ('ground behind header', 'pan behind combine')) as is_yield_unknown,
        sum(spots) as spots
    from loss_places
    group by crop_year, field, plot
),

parts as (
    select
        plots.crop_year,
        plots.field,
        plots.plot,
        coalesce(places.spots, 0)::bigint as spots,
        places.is_ground_counted,
        places.is_pan_taken,
        places.is_seed_weight_unknown,
        places.is_yield_unknown,
        places.before_bu_ac as shatter_bu_ac,
        case when plots.method = 'windrowed' then places.after_windrower_bu_ac - places.before_bu_ac end
            as windrower_bu_ac,
        places.behind_header_bu_ac
        - case when plots.method = 'standing' then places.before_bu_ac else places.after_windrower_bu_ac end
            as header_bu_ac,
        places.combine_bu_ac,
        places.behind_header_bu_ac as ground_bu_ac,
        coalesce(places.behind_header_bu_ac, places.after_windrower_bu_ac, places.before_bu_ac) as last_ground_bu_ac,
        plots.method
    from plots
    left join places using (crop_year, field, plot)
)

select
    * exclude (last_ground_bu_ac, is_ground_counted, is_pan_taken, is_seed_weight_unknown, is_yield_unknown),
    ground_bu_ac + combine_bu_ac as loss_bu_ac,
    case
        when last_ground_bu_ac is not null or combine_bu_ac is not null
            then coalesce(last_ground_bu_ac, 0) + coalesce(combine_bu_ac, 0)
    end as at_least_bu_ac,
    case when spots = 0 then 'a loss check' end as missing_checks,
    case
        when spots = 0 or is_ground_counted then null
        when method = 'standing' then 'a count on the ground behind the header'
        else 'a count on the ground behind the pick-up'
    end as missing_ground,
    case when spots > 0 and not is_pan_taken then 'a pan behind the combine' end as missing_pan,
    case when is_seed_weight_unknown then 'a thousand seed weight' end as missing_seed_weight,
    case when is_yield_unknown then 'the yield, for a loss in percent' end as missing_yield
from parts;
