"""The options that Larkmoor's board is shown: twelve of them, as the options file has them."""

OPTIONS_TOML = """\
# Larkmoor's options: what might be done, and what it would cost. All of it is invented, the sums
# too: they are round, and nobody should plan with them.

discount_rate = 0.04

[option.upper_ford]
title = "Dry hydrant at Upper Ford bridge"
capital = 14_000
yearly = 250
life_years = 30
notes = "Road crew lays the pipe."
verify = "Lift from the water in a drought, no more than 15 ft; owner's consent."
[[option.upper_ford.change]]
do = "add fill site"
[option.upper_ford.change.row]
site_id = "DH-5"
name = "Upper Ford bridge"
kind = "dry_hydrant"
lat = -48.784085
lon = -123.064886
flow_gpm = 900
usable_gal = 6_000_000
recharge_gpm = 5000
source_id = "WEND"
fill_positions = 1

[option.sallow_culvert]
title = "Drafting place at the Sallow Creek culvert"
capital = 9_000
yearly = 300
life_years = 25
verify = "Flow at the end of summer; room to turn a tanker."
[[option.sallow_culvert.change]]
do = "add fill site"
[option.sallow_culvert.change.row]
site_id = "ST-4"
name = "Sallow Creek culvert"
kind = "stream"
lat = -48.976349
lon = -123.054063
flow_gpm = 420
source_id = "SALLOW"

[option.curlew_beck]
title = "Drafting place on Curlew Beck"
capital = 9_000
yearly = 300
life_years = 25
verify = "Flow at the end of summer; a hard stand for the engine."
[[option.curlew_beck.change]]
do = "add fill site"
[option.curlew_beck.change.row]
site_id = "ST-5"
name = "Curlew Beck"
kind = "stream"
lat = -48.841115
lon = -122.957538
flow_gpm = 350

[option.foxglove_cistern]
title = "Cistern with its own pump at Foxglove Park"
capital = 85_000
yearly = 900
life_years = 40
notes = "30,000 gal, electric pump, so that no engine is tied up."
[[option.foxglove_cistern.change]]
do = "add fill site"
[option.foxglove_cistern.change.row]
site_id = "CI-4"
name = "Foxglove cistern"
kind = "cistern"
lat = -48.952981
lon = -122.808828
flow_gpm = 1000
usable_gal = 30_000
needs_pumper = false
fill_positions = 1

[option.gravel_pit]
title = "Reopen the old gravel pit with a dry hydrant"
capital = 16_000
yearly = 250
life_years = 30
verify = "Depth over the whole year; the pit's owner signs for twenty years."
[[option.gravel_pit.change]]
do = "change fill site"
site_id = "PD-7"
set = { status = "open", flow_gpm = 1000 }

[option.fold_pump]
title = "Fixed pump at Fold Pond"
capital = 32_000
yearly = 700
life_years = 20
[[option.fold_pump.change]]
do = "change fill site"
site_id = "PD-3"
set = { needs_pumper = false, flow_gpm = 800 }

[option.village_tanker]
title = "A 3,000-gal tanker at Larkmoor Village"
capital = 420_000
yearly = 6_500
life_years = 20
[[option.village_tanker.change]]
do = "add unit"
[option.village_tanker.change.row]
unit_id = "T-14"
station_id = "S1"
kind = "tanker"
tank_gal = 3000
dump_gpm = 1500
pump_gpm = 750
portable_tank_gal = 3500
weight_lb = 58_000
empty_weight_lb = 32_500

[option.cross_pumper]
title = "A fill-site pumper at Stage Cross"
capital = 95_000
yearly = 3_000
life_years = 15
notes = "Second hand; it only drafts and fills."
[[option.cross_pumper.change]]
do = "add unit"
[option.cross_pumper.change.row]
unit_id = "E-22"
station_id = "S2"
kind = "engine"
tank_gal = 500
pump_gpm = 1250
supply_hose_ft = 500
supply_hose_in = 4.0

[option.northfell_aid]
title = "Automatic aid from Northfell"
capital = 0
yearly = 4_000
life_years = 5
notes = "Both boards sign; Northfell's crew is asked first."
[[option.northfell_aid.change]]
do = "change station"
station_id = "A3"
set = { aid = "automatic" }

[option.t42_valve]
title = "A new dump valve on T-42"
capital = 5_500
yearly = 100
life_years = 12
[[option.t42_valve.change]]
do = "change unit"
unit_id = "T-42"
set = { dump_gpm = 1200 }

[option.t52_pump]
title = "A pump on T-52, and on the first alarm"
capital = 18_000
yearly = 400
life_years = 15
[[option.t52_pump.change]]
do = "change unit"
unit_id = "T-52"
set = { pump_gpm = 500, alarm = 1 }

[option.foxglove_road]
title = "Foxglove Park as a public road"
capital = 60_000
yearly = 2_500
life_years = 25
notes = "Grading and gravel; the park's owners give the way."
[[option.foxglove_road.change]]
do = "change road"
way_ids = [88]
set = { public = true, may_stop = true }

# Places that nobody has been to: where water lies beside a road. `haulshed choose` weighs them with
# the options above.
[candidates]
sources = ["ponds", "streams", "crossroads", "main ends"]
within_ft = 300
apart_ft = 5_280
at_most = 40
"""
