# The words of documents, cards, outcomes and live views in English, in the format of Project Fluent. A translation is a file
# like this one with the same keys and values: see DEVELOPERS.md, "A language". Quantities come with their unit, in the reader's
# style.

## Verdicts, and why there is none

in-tolerance = in tolerance
out-of-tolerance = out of tolerance
undecided = undecided
too-close = too close to tell
repeatability-unknown = repeatability unknown
was-moved = the set-up was moved
rounds-do-not-agree = the rounds do not agree
no-tolerance-stated = no tolerance stated
no-limit-stated = no limit stated
verdict = verdict
rule-of-decision = Verdicts follow ISO 14253-1: a value is in tolerance when its whole interval at 95 % lies within the limits, out of tolerance when its whole interval lies outside them, and undecided otherwise.

## Amounts

amount-unknown = { $value }, uncertainty not known
amount-within = { $value } ± { $u } (95 %)
amount-between = { $value } ({ $low } to { $high }, 95 %)
from-to = { $low } to { $high }
below = below { $least }
readings = { $count ->
    [one] 1 reading
   *[other] { $count } readings
}
turns = { $count ->
    [one] 1 turn
   *[other] { $count } turns
}
direction = { $deg }° ({ $hour } o'clock)
# The later hour is for languages that count a half hour toward the hour after it.
direction-half = { $deg }° (half past { $hour } o'clock)
outliers = outliers
outliers-none = none
outliers-included = { $found }, included
outliers-left-out = { $found }, left out as asked
outliers-partly = { $found }, { $rejected } left out as asked

## The half angle, and the tap

half-angle = half angle
half-angle-error = error of the half angle
half-angle-with-stack = half angle, stack included
half-angle-limits = limits of the half angle's error
half-angle-is = half angle { $decision }
residual-angle = residual angle
cone-steeper = , the cone steeper
cone-shallower = , the cone shallower
on-diameter-along-taper = on diameter along the taper
over-length = , over { $length }
tap = tap
at-place = at { $place }
tap-to = , { $way }, to { $target } ({ $move })
tap-divisions = { $count } { $way }, to { $target } on the dial
divisions = { $count } div
tap-trial = a trial: where the set-up turns is not known yet
toward-indicator = toward the indicator
away-from-indicator = away from the indicator
aims-off = Aims off { $by }
aims-off-both = Aims off { $one } and { $other }
aim-clamp = by { $by } arcsec that the clamp takes back
aim-wanted = by { $by } arcsec for the wanted half angle

## Budgets

budget-of-half-angle = Budget of the half angle
budget-of-stock = Budget of the stock on diameter
budget-of-residual = Budget of the residual angle
budget-of-last-residual = Budget of the last round's residual
budget-of-eccentricity = Budget of the eccentricity
budget-of-later-reading = Budget of a later reading
budget-largest-first = { $budget } (standard uncertainties, largest first)
budget-none = None: nothing tells how far the readings can be trusted.
column-component = component
column-u = u
column-unit = unit
column-degrees-of-freedom = degrees of freedom

## Zero

no-round-completed = no round was completed
no-round-since = , and no round was completed since
display-allows = the display alone allows
over-the-span = over the span
axis-rises = the axis rises over the part
worth-on-diameter = worth on diameter
worth-at-most = , at most { $most } (axes { $axes } apart)
worth-as-half-angle = worth as an error of the half angle
turns-about = turns about
turns-from-a = { " " }from A{ $u } ({ $from })
known-before = known before
from-rounds = rounds { $rounds }
clamp-shifts-by = the clamp shifts by
clamp-shifts-agree = , median of { $count }: they agree: aim off by it
clamp-shifts-few = , median of { $count }: not yet enough to aim off by
marks-by-round = Marks and line by round
last-rounds-larger = The last { $rounds } rounds, larger
reading-with-dwells = Reading over time, with the dwells that were marked
reading-over-time = Reading over time
time-of-cable = time, s (cable { $cable })
along-the-travel = along the travel, { $unit } ({ $how })
reading-from-a = reading from A, { $unit }
reading-axis = reading, { $unit }
round-number = round { $round }
rounds = Rounds
clamp-tight = tight
clamp-loose = loose
column-round = round
column-clamp = clamp
column-slope = slope, { $small }/{ $long }
column-residual = residual, "
column-u-arcsec = u, "
column-drift = drift, { $unit }/min
column-bow = bow, { $unit }

## Sweep

over-swept-length = over the swept length
straightness-mz = straightness, minimum zone
straightness-ls = straightness, least squares
bow = bow
middle-nearer = , the middle nearer to the indicator
ends-nearer = , the ends nearer to the indicator
scatter-about-line = scatter about the line
standard-deviation = , standard deviation
swept = swept
swept-from-to = , from { $from } to { $to }, { $points } points in the line
filter = filter
no-filter = none
filter-cut-off = { $filter }, cut-off { $cut_off }: for straightness and bow
filter-gaussian-iso-16610-21 = Gaussian, ISO 16610-21
filter-left-out = , without { $length } at each end
drawn-of = Of { $readings } readings { $points } are drawn: the smallest and the largest of each column, so that nothing that stands out is lost.
drawn-all = All { $readings } readings are drawn.
places-as-marked = places as marked
places-from-cable = places from the table's own cable
places-by-feed = places by a feed taken as steady
readings-and-line = Readings and their least squares line
departure-from-line = Departure from the least squares line, with the minimum zone
departure-axis = departure, { $unit }
series-readings = readings
least-squares-line = least squares line
least-squares = least squares
minimum-zone = minimum zone
filtered-profile = filtered profile

## Run-out

plane = plane
planes = Planes
first-of-planes = , the first of { $planes }
runout-tir = run-out, total indicator reading
runout-own = run-out, the part's own
eccentricity = eccentricity
high-spot = high spot
no-high-spot = none
may-be-anywhere = , which may be anywhere
roundness-mz = roundness, minimum zone
roundness-own = roundness, the part's own
roundness-ls = roundness, least squares
behind-filter = , behind a filter of { $upr } undulations a turn
repeats-turn-by-turn = repeats turn by turn
synchronous = { " " }(synchronous, without the eccentricity)
does-not-repeat = does not repeat
asynchronous = { " " }(asynchronous)
read = read
turn-found = { " " }of { $turn } s, u { $u } s, found from the readings
turn-of = { " " }of { $turn } s
true-it = true it
true-it-by = , { $by } away from the indicator, to { $target }
    or at { $opposite } as far toward it
axis-off-by = the axis is off by
axis-toward-at = { " " }toward { $direction } at plane { $plane }
axis-toward = { " " }toward { $direction }
tilt = tilt
in-plane = { " " }in plane { $plane }
runout-of-step = Run-out of step { $step }
as-read-with-spot = as read, with the high spot
form-without-eccentricity = form, the eccentricity taken out
readings-round-a-turn = Readings round a turn
form = Form
round-a-turn = Round a turn
how-to-read-polar = Solid circle: least squares. Dashed circles: minimum zone. Crosses: outliers. Outward is toward the indicator.
later-turns-dashed = { " " }Turns after the first are dashed.
heavy-is-filtered = { " " }The heavy line within the readings is the filtered profile.
band-holds-all = { $readings } readings of { $turns } turns: the band holds them all, the line is their mean.
runout-elsewhere = Run-out that the axis gives elsewhere
column-plane = plane, { $unit }
column-runout = run-out, { $unit }
column-eccentricity = eccentricity, { $unit }
column-high-spot = high spot, °
column-roundness = roundness, { $unit }
column-readings = readings
harmonics = Harmonics
harmonics-of = Harmonics of the { $of }
undulations-a-turn = undulations a turn
column-a-turn = a turn
column-amplitude = amplitude, { $unit }
column-usually = usually (common practice)
usually-ovality = ovality: two jaws, a bent spindle, soft centres
usually-three-lobes = three lobes: a three-jaw chuck, centreless grinding
usually-four-lobes = four lobes: a four-jaw chuck
usually-odd-lobes = an odd number of lobes: centreless grinding
usually-many-lobes = many lobes: chatter, a bearing
no-larger-than-scatter = no larger than scatter and display can make it
oval = oval
jaws = { $jaws } jaws
part-and-spindle-apart = Part and spindle apart, by reversal
part = part
spindle = spindle
the-part = the part
the-spindle = the spindle
the-part-title = The part
the-spindle-title = The spindle
column-of = of
column-form-mz = form, minimum zone, { $unit }
column-form-ls = least squares, { $unit }
one-ring = one ring { $worth }
hour-up = 12 h, 0°
hour-right = 3 h
hour-down = 6 h, 180°
hour-left = 9 h

## Size

left-on-diameter = left on diameter
stock-at-plane = , at plane { $plane }
stock-left = { $stock } left on diameter
stock-unsure = { " " }as measured; the uncertainty is not known
stock-unknown = what is left is not known
rounds-disagree = the rounds disagree
rounds-disagree-why = , and nothing says that the part was ground between
at-size-or-too-far = at size or too far
within-uncertainty = , within the uncertainty
under-size = UNDER SIZE by { $by } on diameter
bore-over-size = BORE OVER SIZE by { $by } on diameter
infeed-to-axis = infeed square to the axis
infeed-to-cone = infeed square to the cone
passes = passes
passes-none = none before finishing
passes-of = { $count } of { $each }
passes-last = { $count }: { $others } of { $each }, the last of { $last }
plunges = plunges
plunges-at = { $count } at { $places } { $unit } from the big end
plunges-overlap = with an overlap of { $overlap }
wheel-run = wheel runs
lead-out-by = { $by } beyond the small end
blend-radius-of = corner radius { $radius }
angle-costs = angle error costs
angle-costs-at = { $big } at the big end, { $small } at the small end, on diameter
next-pass = next pass
pass-rough = rough it: infeed { $infeed }, should leave { $left } on diameter
pass-finish = finish it: infeed { $infeed }, should leave { $left } on diameter
pass-back = draw the wheel back by { $infeed } and pass: should leave { $left } on diameter
pass-none = none: at size
column-pass = pass
column-infeed = infeed, { $unit }
column-before = left before, { $unit }
column-expected = expected, { $unit }
column-measured = measured, { $unit }
column-off = off, { $unit }
ground-so-far = Passes so far
ground-as-advised = What was left on diameter. The infeeds are those that were advised: where another one was set, the next is off.
then-to-finish = then { $depth } to finish
column-diameter = diameter, { $unit }
column-wanted = wanted, { $unit }
column-left = left on diameter, { $unit }
diameters-against-wanted = Diameters against the wanted cone
planes-count-from = Planes count from the gauge plane, positive toward the small end.
plane-from-gauge-plane = plane, { $unit } from the gauge plane toward the small end
from-wanted = from wanted, { $unit }
measured = measured
the-wanted-cone = the wanted cone

## Contact

bears = bears
contact = contact
contact-of-length = { " " }of the length: big end { $big } %, middle { $middle } %, small end { $small } %
gap-is-worth = the gap is worth
worth-between = { $least } to { $most } arcsec
worth-up-to = up to { $most } arcsec
worth-at-least = at least { $least } arcsec
worth-nothing = nothing of the half angle
steeper-than-mate = { $by } steeper than the mate
shallower-than-mate = { $by } shallower than the mate
either-than-mate = { $by } steeper or shallower than the mate
tolerance = tolerance
arcsec-either-way = ± { $limit } arcsec
arcsec-from-to = { $low } to { $high } arcsec
zero-and-sweep = zero and sweep
print-agrees = the print agrees with what they found
print-contradicts = THE PRINT CONTRADICTS what they found
film-of-dye = film of dye
by-eye = by eye: it bears { $bears }
print-by-zones = The print by zones
thirds-of-length = thirds of the length
printed-percent = printed, %
bare = bare
big-end = big end
middle = middle
small-end = small end
bears-evenly-over-the-whole-length = evenly over the whole length
bears-heavy-at-the-big-end-light-at-the-small-end = heavy at the big end, light at the small end
bears-heavy-at-the-small-end-light-at-the-big-end = heavy at the small end, light at the big end
bears-heavy-at-both-ends-hollow-in-the-middle = heavy at both ends, hollow in the middle
bears-heavy-in-the-middle-light-at-both-ends = heavy in the middle, light at both ends
bears-at-the-big-end-only = at the big end only
bears-at-the-small-end-only = at the small end only
bears-at-both-ends-hollow-in-the-middle = at both ends, hollow in the middle
bears-in-the-middle-only = in the middle only
bears-nowhere = nowhere
print-within-the-tolerance-by-eye = within the tolerance, by eye
print-beyond-the-tolerance-by-eye = beyond the tolerance, by eye
print-proves-nothing-at-this-tolerance = proves nothing at this tolerance

## Dial

error-of-indication = error of indication
over-the-range = { " " }over the range
hysteresis = hysteresis
not-read-both-ways = not read both ways
repeatability = repeatability
nothing-read-twice = unknown: nothing was read twice the same way
largest-range-sd = { " " }largest range, standard deviation { $sd }
a-later-reading = a later reading
later-unknown = uncertainty not known: repeatability unknown
later-within = ± { $u } (95 %), come to either way
later-steps-use = later steps use
not-corrected = not corrected
corrected-by-rows = corrected by a table of { $rows } rows
checked = checked
errors-up-and-down = Error of indication, up and down
no-correction-asked = No correction was asked for.
correction = Correction
correction-between-rows = Between two rows in proportion, beyond them as at the end.
column-nominal = nominal, { $unit }
column-up = up, { $unit }
column-down = down, { $unit }
column-hysteresis = hysteresis, { $unit }
column-shown = shown, { $unit }
column-add = add, { $unit }
upward = upward
downward = downward
shown-less-nominal = shown less nominal, { $unit }

## Where a mark is

place-at = { " " }at { $station }
place-turn = turn
place-begin = begin
place-end = end
place-plane = plane { $plane }
place-stand-off = stand-off
place-rollers = rollers on { $stacks }
place-big-ball = big ball
place-small-ball = small ball
place-up = { $nominal } up
place-down = { $nominal } down
place-print = print { $big } / { $middle } / { $small } %

## Documents

utc = { $moment } UTC
record-title = Set-up record: { $name }
card-title = Set-up card: { $name }
card-below = Session { $session }, before the job; the record tells what came of it
record-seal = Seal { $seal }
the-records-seal = the record's seal
signed-by = record signed by
signed-by-key = { $name }, key { $key }; verify checks it in the .json record
continued = { $heading } (continued)
page-of = { $page } of { $pages }
results = Results
instruments = Instruments
as-found-and-as-left = As found and as left
plan = Plan
taper-source = Taper: { $source }
no-steps = The session has no steps.
notes-and-events = Notes and events
cautions = Cautions
wanted = Wanted
its-indicator = Its indicator: { $check }
marks = Marks
signature-date = Date
signature-name = Name
signature = Signature
written-by = Written by Conewright { $program } as record version { $version }. Every result above can be computed again from the readings in the record's JSON: conewright verify FILE.json

event-note = note
event-clamp = clamp
event-ground = ground
event-cable = cable
event-clock = clock
event-gap = gap
event-program = program
column-what = What
column-cable = Cable
column-port = Port
column-settings = Settings
column-cadence = Readings
column-frame = Frame
cadence-streams = streams
cadence-polled = polled
cadence-press = press

## What a document says of a session

part-name = Part
session = Session
opened = Opened
closed = Closed
still-open = still open when this was written
setting-instrument = Setting instrument
gauge-blocks = Gauge blocks
stations = Stations
fixture = Fixture
taper = Taper
half-angle-fact = Half angle
half-angle-and-included = { $half }  ({ $dms }), included { $included }
gauge-diameter = Gauge diameter
length = Length
tolerance-fact = Tolerance
place-of-station = { $station } at { $place }
stack = Stack
stack-sum = { $blocks } = { $sum } (wanted { $height })
stack-sets = What the stack sets
stack-sets-angle = half angle { $angle }°, { $error }″ from the one wanted
indicator = Indicator
indicator-cable = Indicator on cable
indicator-resolution = Indicator's resolution
indicator-error = Indicator's error
indicator-check = Indicator's last check
indicator-lever = Indicator's lever
lever-to-surface = { $angle }° to the surface
check-words = { $when }, u = { $u }{ $corrected }
check-corrected = , corrected by a table of { $rows } rows
checked-at = checked { $moment }
checked-undated = checked, without a date
bar-sine = sine bar
bar-hinged = hinged bar
bar-tangent = tangent bar
bar-centres = , { $length } between centres
bar-discs = , discs of radius { $small } and { $large }
bar-constant = , constant { $length }
on-cable = on cable { $cable }
readings-typed = readings typed
resolution-of = resolution { $step }
error-within = error within ± { $limit }
none-recorded = none is recorded
indicator-of-step = Indicator of step { $step }
indicator-of-steps = Indicator of steps { $steps }
column-instrument = Instrument
column-what-it-is = What it is
column-last-check = Last check

## Steps of a session

as-found = As found (step { $step })
as-left = As left (step { $step })
found-caption = as found
left-caption = as left
one-scale = Both are drawn at one scale.
verdict-fact = Verdict
column-step = Step
column-result = Result
column-found = Found
step-title = { $step }: { $title }
step-heading = Step { $step }: { $title }
title-found = { $title }, as found
title-left = { $title }, as left
qualifier-about-level = about level
kind-zero = zero
kind-sweep = sweep
kind-run-out = run-out
kind-size = size
kind-contact = contact
kind-dial = dial
from-to-utc = { $from } to { $to } UTC
nothing-computed = Nothing was computed.
column-mark = Mark
column-place = Place
column-mark-round = Round
column-value = Value, { $unit }
column-spread = Spread, { $unit }
column-mark-readings = Readings
first-and-last = The first and the last { $half } of { $count }; all are in the record.
taken-back = Taken back, and counted nowhere: mark { $marks }.

## The card

set-up = Set-up
sizes = Sizes
steps = Steps
order-of-round = Order of a round
big-end-fact = Big end
at-station-a = at station A
at-station-b = at station B
indicator-touches = Indicator touches
on-wheel-side = on the side of the wheel
opposite-wheel = opposite the wheel
can-be-proved = What can be proved
diameter-small-end = Diameter at the small end
of-step = { $value } (step { $step })
task-wring = Wring { $blocks } and set the angle with them.
task-clamp = Clamp the part, and back a magnetic hold with a mechanical clamp.
task-indicator = Fix the indicator, and bring it to station A.
task-of-kind = { $kind }. { $task }
task-mark-a-b-and-a-again-tap-as-advised-tighten-the-clamp-and-mark-once-more-until-the-half-angle-is-in-tolerance = Mark A, B and A again, tap as advised, tighten the clamp and mark once more, until the half angle is in tolerance.
task-sweep-the-cone-from-end-to-end-half-angle-straightness-and-bow = Sweep the cone from end to end: half angle, straightness and bow.
task-turn-the-part-by-hand-and-mark-round-a-turn-run-out-high-spot-where-to-true-it = Turn the part by hand and mark round a turn: run-out, high spot, where to true it.
task-measure-the-size-what-is-left-on-diameter-and-the-passes = Measure the size: what is left on diameter, and the passes.
task-take-a-print-of-marking-dye-in-the-gauge-and-judge-where-it-bears = Take a print of marking dye in the gauge and judge where it bears.
task-check-the-indicator-on-gauge-blocks-going-up-and-then-down = Check the indicator on gauge blocks, going up and then down.

## The table of readings

mark-taken-back = { $mark } (taken back)


## Cautions


caution-stop-the-wheel-and-lock-the-spindle-before-hands-or-an-indicator-go-in = Stop the wheel and lock the spindle before hands or an indicator go in.
caution-back-a-magnetic-hold-with-a-mechanical-clamp = Back a magnetic hold with a mechanical clamp.
caution-tap-with-a-soft-mallet-and-never-on-a-hardened-edge-near-the-face = Tap with a soft mallet, and never on a hardened edge near the face.
caution-ring-test-the-wheel-before-it-is-mounted-and-never-run-it-above-its-marked-speed = Ring-test the wheel before it is mounted, and never run it above its marked speed.
caution-keep-the-guards-on-protect-the-eyes-and-draw-off-dust-and-mist = Keep the guards on, protect the eyes, and draw off dust and mist.
caution-let-the-part-cool-before-it-is-measured = Let the part cool before it is measured.
caution-read-the-data-sheet-of-the-marking-dye-and-wear-gloves-for-it-no-gloves-near-turning-parts = Read the data sheet of the marking dye and wear gloves for it; no gloves near turning parts.
caution-turn-the-part-by-hand-for-run-out-no-gloves-near-turning-parts = Turn the part by hand for run-out; no gloves near turning parts.
caution-local-rules-the-machine-s-manual-and-licensed-practice-come-first-what-is-said-here-does-not-replace-them = Local rules, the machine's manual and licensed practice come first; what is said here does not replace them.

## Budget components, as a record names them

component-hysteresis-either-way = hysteresis, either way
component-places-of-the-stations = places of the stations
component-scatter-about-the-line = scatter about the line
component-repeatability-of-the-indicator = repeatability of the indicator
component-between-the-nominals = between the nominals
component-centre-distance-of-the-bar = centre distance of the bar
component-error-of-the-indicator = error of the indicator
component-gauge-blocks = gauge blocks
component-height-of-the-stack = height of the stack
component-linear-expansion = linear expansion
component-lobes-between-the-places = lobes between the places
component-places-of-the-planes = places of the planes
component-places-on-the-travel = places on the travel
component-repeatability-of-a-single-reading = repeatability of a single reading
component-resolution-of-the-indicator = resolution of the indicator
component-resolution-of-the-instrument = resolution of the instrument
component-resolution = resolution
component-resolution-from-value-to-value = resolution, from value to value
component-scatter-about-the-cone = scatter about the cone
component-scatter-of-the-marks = scatter of the marks
component-scatter-of-the-readings = scatter of the readings
component-scatter = scatter
component-straightness-of-the-travel = straightness of the travel
component-temperature = temperature
component-the-correction-s-own-scatter = the correction's own scatter
component-uneven-angles = uneven angles
component-repeatability-as-stated = repeatability as stated
component-repeatability-by-the-last-check = repeatability by the last check
component-the-indicator-as-checked = the indicator, as checked
component-error-of-indication-over-the-range = error of indication over the range
component-the-diameters-as-stated = the diameters, as stated
component-the-stand-off-as-stated = the stand-off, as stated
component-scatter-of-what-was-measured-again = scatter of what was measured again
component-repeatability-of-the-instrument = repeatability of the instrument
component-repeatability-checked-and-seen = repeatability, checked and seen

## Remarks, as the arithmetic writes them and records hold them: one that has the other's beginning stands before it

remark-corrected-by-check = readings are corrected by the indicator's last check
remark-multiplied-for-lever = readings are multiplied by { $a } for a lever at { $b }° to the surface
remark-divided-by-cosine = readings are divided by { $a }, the cosine of the half angle, for an indicator square to the cone
remark-brought-to-20 = diameters are brought to 20 °C from { $a } °C ({ $b } °C of the instrument): { $c }
remark-moved = { $a } reads { $b } from the mark before it: the set-up was moved, so this mark opens round { $c }
remark-can-prove = this set-up can prove its tolerance: ± { $a } arcsec of ± { $b }
remark-cannot-prove-most-cures = this set-up cannot prove its tolerance: it is good to ± { $a } arcsec at best, most of it by the { $b }, and ± { $c } is allowed. Enough would be { $d }
remark-cannot-prove-most = this set-up cannot prove its tolerance: it is good to ± { $a } arcsec at best, most of it by the { $b }, and ± { $c } is allowed
remark-turns-elsewhere = the rounds say that the set-up turns at { $a } (± { $b }), not at the stated { $c }
remark-sense-not-stated = the sense is not stated, so the stack's own error is judged either way: state the big end and the indicator's side
remark-nothing-to-tap = { $a } stands within half a step of the display of its target: there is nothing to tap
remark-worth-needs = what it is worth on the part needs { $a }
remark-axis-enough = an axis that rises { $a } over the part costs it { $b } on diameter, { $c } at most: enough is enough
remark-axis-costs = an axis that rises { $a } over the part costs it { $b } on diameter, { $c } at most
remark-nothing-repeats = nothing tells how the readings repeat, so there is no 95 % interval; the display alone allows ± { $a } arcsec. Mark two more rounds A B A without touching the set-up, or state --repeatability
remark-steady-feed = the positions assume a steady feed between the two marks
remark-two-points = two points tell no scatter: mark more places, or state `--repeatability`
remark-display-alone-sweep = the display and the stated errors alone allow ± { $a }″; how readings repeat comes on top
remark-neighbours-alike = neighbouring readings err alike: the { $a } readings count as { $b } independent ones
remark-unplaced = { $a } readings were taken where the table's position is not known, and are not counted
remark-judged-by-eye-practice = a print is judged by eye, with a film of { $a } (common practice)
remark-judged-by-eye = a print is judged by eye, with a film of { $a }
remark-heavy-at-ends = heavy at both ends and hollow in the middle: a hollow cone, or a barrelled mate; sweep it for its bow
remark-heavy-in-middle = heavy in the middle: a barrelled cone, or a hollow mate; sweep it for its bow
remark-no-dye = no dye went over: too little dye, or the cones did not meet; this proves nothing
remark-print-proves-nothing = the print proves nothing at this tolerance: measure the half angle with a zero or sweep step
remark-print-agrees-with = the print agrees with a half angle found off by { $a } ± { $b } arc-seconds
remark-print-does-not-agree = the print does not agree with a half angle found off by { $a } ± { $b } arc-seconds: check the mate, the film, and that both were clean and cool
remark-print-too-rough = the print is too rough to be held against a half angle found off by { $a } ± { $b } arc-seconds
remark-part-under-size = the part is under size by { $a } on diameter: nothing is left to grind, and it is not finished but too small
remark-bore-over-size = the bore is over size by { $a } on diameter: nothing is left to grind, and it is not finished but too large
remark-at-size = what is left lies within its uncertainty: at size, or too far already by up to { $a } on diameter
remark-once-alone = each place was measured once, and nothing tells how well that repeats, so there is no 95 % interval; the display and what was stated alone leave ±{ $a } arcsec of half angle, ±{ $b } on diameter: measure each place again without grinding, or state the repeatability
remark-once-angle = each place was measured once, and nothing tells how well that repeats, so there is no 95 % interval; the display and what was stated alone leave ±{ $a } arcsec of half angle: measure each place again without grinding, or state the repeatability
remark-once-stock = each place was measured once, and nothing tells how well that repeats, so there is no 95 % interval; the display and what was stated alone leave ±{ $a } on diameter: measure each place again without grinding, or state the repeatability
remark-once = each place was measured once, and nothing tells how well that repeats, so there is no 95 % interval: measure each place again without grinding, or state the repeatability
remark-rounds-disagree-angle = the rounds disagree by { $a } arcsec and { $b } from round { $c } on, more than they scatter: shown is what was measured from there on. Was the part ground between? If so, say it: press o, or `conewright ground` (in a table, leave the rows before it out). If not, measure again
remark-rounds-disagree-stock = the rounds disagree by { $a } from round { $b } on, more than they scatter: shown is what was measured from there on. Was the part ground between? If so, say it: press o, or `conewright ground` (in a table, leave the rows before it out). If not, measure again
remark-measured-times-worse = measured { $a } times: the same place differed by up to { $b }, a standard deviation of { $c } with { $d } degrees of freedom, which is more than was stated or checked
remark-measured-times = measured { $a } times: the same place differed by up to { $b }, a standard deviation of { $c } with { $d } degrees of freedom
remark-length-unknown = the taper's length is not known, nor so where its small end is, and what is left cannot be told: state the length
remark-no-plunges = no length of the cone is known, so no plunges can be told: state --length
remark-diameter-unknown = no gauge diameter is known, so what is left cannot be told: state the taper
remark-no-kit = no kit is stated: the blocks' own errors are not counted
remark-stated-repeatability = no nominal was read twice the same way: the stated repeatability of { $a } counts
remark-no-repeat-display = no nominal was read twice the same way, so nothing tells how well it repeats, and no 95 % is claimed; the display alone allows ± { $a }; go through the steps once more, or state `--repeatability`
remark-no-repeat = no nominal was read twice the same way, so nothing tells how well it repeats, and no 95 % is claimed; go through the steps once more, or state `--repeatability`
remark-angle-from-first = the angle counts from the first reading, at a speed taken as steady
remark-no-common-zero = the planes' angles have no common zero, so they give no axis: mark each turn
remark-steady-turns = within each marked turn the speed is taken as steady
remark-another-turn = a turn of { $a } explains the readings nearly as well as one of { $b } s: time one, or mark the turns
remark-nothing-tells-repeat = nothing tells how well the readings repeat: go round again, read more places, or state the indicator's repeatability
remark-harmonic-2 = the largest harmonic is { $a } a turn with { $b }: ovality, as two jaws, a bent spindle or soft centres leave (common practice)
remark-harmonic-3 = the largest harmonic is { $a } a turn with { $b }: three lobes, as a three-jaw chuck or centreless grinding leaves (common practice)
remark-harmonic-4 = the largest harmonic is { $a } a turn with { $b }: four lobes, as a four-jaw chuck leaves (common practice)
remark-harmonic-odd = the largest harmonic is { $a } a turn with { $b }: an odd number of lobes, as centreless grinding leaves (common practice)
remark-harmonic-many = the largest harmonic is { $a } a turn with { $b }: many lobes: chatter or a bearing, rather than how the part was held (common practice)
remark-lobes-shown = these places show lobes up to { $a } a turn; of more lobes the limits take it that they are as those shown: read { $b } places or more to see { $c } a turn
remark-reversal-centring = eccentricities hold how the part was centred each time; what lies above them is the form
remark-ground-between = the part was ground between: its { $a } marks before that are not counted
remark-ground-after = the part was ground after this was measured: measure again to see how it is now
remark-one-silence = `{ $a }` sent nothing for { $b } s of what was recorded; nothing is made up for it
remark-silences = `{ $a }` sent nothing { $b } times, for up to { $c } s of what was recorded; nothing is made up for it
remark-one-not-stored = 1 reading of `{ $a }` not stored, and not counted
remark-not-stored = { $a } readings of `{ $b }` not stored, and not counted

## Phrases within remarks

phrase-span = a span of { $a } (`--span { $b }`)
phrase-finer-indicator = an indicator that shows { $a }
phrase-better-kit = a kit with a calibration, or a longer bar
phrase-state-sense = state --big-end and --indicator-side, so that the stack's error can be taken back
phrase-part-length = the part's length
phrase-wheel-diameter = the wheel's diameter
phrase-part-diameter = the part's diameter
phrase-cures = { $a }, or { $b }
phrase-two = { $a } and { $b }
phrase-per-100 = { $a } per { $b }
phrase-or = { $a } or { $b }

## The live view: the screen of an open step

live-title-no-session = conewright: no session
live-title-no-step = { $name }: session { $session }, no step
live-title = { $name }: session { $session }, { $kind } step { $step }
live-typed = values are typed
live-bytes-skipped = { $bytes } bytes skipped
live-skipped = { $cable }: { $bytes } bytes, last { $last }
live-pressed-twice = pressed twice
live-pressed-times = pressed { $times } times
live-second-a-mark = is the second, { $reading }, a mark too?
live-last-a-mark = is the last, { $reading }, a mark too?
live-press-answers = { $asked } space yes, u no
live-waiting = WAITING for rest, { $seconds } s
live-u-drops = u drops it
live-hold-still = hold still
live-recording = RECORDING
live-ends = space ENDS it
live-line-comes-by = space: the line comes by
live-no-end = What is being recorded has no end yet, and would not count
live-loses-round = Round { $round } is not complete, and would not count
live-loses-marks = Nothing can be computed yet from its marks, { $marks } so far
live-unplanned = as you say: key p, or asked when marked
live-a-print = a print
live-next-new-round = { $place }, a NEW round
live-next-round = { $place }, round { $round }
live-place-travel = station, or distance from A
live-place-dial = known step under the indicator, as 1.2mm
live-place-angle = angle, as 4h or 120
live-place-plane = plane, mm from the gauge plane toward the small end
live-allowed-as-angle = { $stated }: { $limits } arcsec of half angle
live-stations-are = { $stations }; a round is { $pass }
live-mark = mark { $number }, { $place }, round { $round }, { $value }
live-mark-bare = mark { $number }, { $place }
live-dwell = spread { $spread } in { $readings } readings
live-one-reading = one reading
live-waiting-for-daemon = Waiting for the background process.
live-no-session = No session is open: `conewright session open NAME` opens one.
live-no-step = No step is open: key s opens one.
live-not-computed = Nothing can be computed yet: { $why }
live-not-yet = not yet: { $why }

## The state of a cable

live-cable-live = LIVE
live-cable-silent = NO READING
live-cable-quiet = QUIET
live-cable-stale = STALE
live-cable-gone = GONE
live-cable-busy = BUSY
live-cable-denied = DENIED
live-cable-other = OTHER INSTRUMENT

## Words at the left, which are short

live-label-now = NOW
live-label-tap = TAP
live-label-notice = NOTICE
live-label-stations = STATIONS
live-label-allowed = ALLOWED
live-label-fixture = FIXTURE
live-label-cable = CABLE
live-label-skipped = SKIPPED
live-label-marks = MARKS
live-label-pivot = TURNS
live-label-clamp = CLAMP
live-label-axes = AXES
live-label-filter = FILTER
live-label-worth = WORTH
live-label-form = FORM
live-label-points = POINTS
live-label-so-far = SO FAR
live-label-here = HERE
live-label-errors = ERRORS
live-label-later = LATER
live-label-gap = GAP
live-label-print = PRINT
live-label-infeed = INFEED
live-label-passes = PASSES
live-label-next-pass = NEXT PASS
live-label-last-pass = LAST PASS
live-pass-expected = expected { $length }
live-pass-left = left { $length }
live-label-cone = CONE
live-label-centre = CENTRE
live-label-part = PART
live-label-orders = ORDERS
live-label-turns = TURNS
live-label-axis = AXIS
live-label-apart = APART

## Large values: what stands above, in and under the digits

live-label-reading = READING
live-label-reading-at = READING, last at { $place }
live-label-typed = TYPED
live-label-typed-for = TYPED for { $place }
live-label-to-go = TO GO
live-label-there = THERE
live-label-too-far = TOO FAR
live-label-next = NEXT
live-label-next-up = NEXT, UP
live-label-next-down = NEXT, DOWN
live-label-residual = RESIDUAL
live-label-residual-round = RESIDUAL, round { $round }
live-label-residual-tight = RESIDUAL, round { $round }, tight
live-label-half-angle = HALF ANGLE off by
live-label-line = LINE against the travel
live-label-straight = STRAIGHT
live-label-range = RANGE
live-label-range-so-far = RANGE so far
live-label-line-so-far = LINE so far
live-label-readings = READINGS
live-label-runout = RUN-OUT
live-label-runout-so-far = RUN-OUT so far
live-label-high-spot = HIGH SPOT
live-label-error = ERROR now
live-label-span = SPAN of the errors
live-label-left = LEFT on diameter
live-label-undersize = UNDERSIZE by
live-label-oversize = OVERSIZE by
live-label-big-end = BIG END
live-label-middle = MIDDLE
live-label-small-end = SMALL END
live-next-value = mark
live-type-to-mark = type a value to mark
live-enter-marks = { $unit } enter marks it
live-not-current = { $unit }, NOT CURRENT
live-not-current-state = { $unit }, NOT CURRENT: { $state }
live-settled = { $unit }, settled
live-moving = { $unit }, MOVING
live-no-reading-yet = { $state }: no reading yet
live-as-last-sent = { $unit }, { $state }: as last sent
live-steeper = , steeper
live-shallower = , shallower
live-arcsec-within = arcsec{ $way }, ± { $u } (95 %)
live-arcsec-display = arcsec{ $way }, display ± { $u }
live-station = station
live-nominal = { $unit } nominal
live-bare = %, BARE
live-printed = % printed
live-not-judged = not judged yet
live-square-to-axis = { $unit }, square to axis
live-square-to-cone = { $unit }, square to cone
live-tir = { $unit }, TIR
live-oclock = { $hour } o'clock
live-under-hour = o'clock = { $deg }°{ $plane }
live-under-degrees = degrees = { $hour }{ $plane }
live-in-plane = , plane { $plane }
live-no-round-yet = no round yet
live-none-yet = no reading yet

## Decisions, and what they rest on

live-half-angle = half angle { $error } arcsec
live-half-angle-why = half angle: { $why }
live-half-angle-of = half angle { $angle }
live-allowed = allowed { $limits }
live-of-round = round { $round }: { $what }
live-enough = ENOUGH
live-not-enough = NOT ENOUGH
live-in-tolerance = In tolerance
live-at-most = { $worth } on diameter at most
live-counted-in = the residual's uncertainty counted in
live-agrees = AGREES
live-does-not-agree = DOES NOT AGREE
live-found-off = half angle found off by { $error } ± { $u } arcsec
live-print-proves-nothing = the print proves nothing at this tolerance
live-print-too-rough = the print is too rough to be held against what was found
live-print-alone = no zero or sweep found a half angle to hold it against
live-ground-between = GROUND BETWEEN?
live-rounds-disagree = the rounds disagree by { $by } from round { $round } on
live-at-size = AT SIZE OR UNDER
live-stop-here = what is left is within the uncertainty: stop here
live-undersize = UNDERSIZE
live-too-small = { $by } too small on diameter
live-oversize = OVERSIZE
live-too-large = the bore is { $by } too large
live-at-plane = at plane { $plane }

## Facts

live-on-diameter = { $worth } on diameter
live-over-its = { " " }over its { $length }
live-over = { $worth } over { $length }
live-over-swept = { $worth } over the swept { $length }
live-under = under { $least }
live-of-half-angle = { $angle } arcsec of half angle
live-axis-rises = the axis rises { $rise } over it
live-about = about { $pivot }
live-shifts-by = shifts by { $shift }
live-axes-apart = { $apart } apart, part and wheel
live-range = range { $by }
live-line = line { $slope } arcsec
live-bow = bow { $bow }
live-placed = { $readings } placed readings
live-straight-within = straight within { $by } (minimum zone)
live-about-line = { $by } about the least squares line
live-from-to = from { $from } to { $to }
live-points = { $count ->
    [one] 1 point
   *[other] { $count } points
}
live-filter = filter { $filter }
live-outliers = outliers: { $found }
live-outliers-rows = outliers: { $found } (row { $rows })
live-plan-half-angle = { $taper } half angle { $angle }
live-plan-stack = stack { $blocks }
live-plan-sets = sets { $error } arcsec
live-error-at = error { $error } at { $place }
live-errors-span = errors span { $span }
live-span = { $by } span
live-hysteresis = { $by } hysteresis
live-repeatability = { $by } repeatability
live-later-within = a later reading is good to ± { $u } (95 %)
live-later-unknown = repeatability unknown: go through the steps again
live-with-correction = with its correction
live-of-the-whole = { $percent } % of the whole
live-by-eye = judged by eye, with a film of { $film }
live-infeed-axis = { $by } square to the axis
live-infeed-cone = { $by } square to the cone
live-runout = run-out { $by }
live-round-within = round within { $by }
live-round-zone = round within { $by } (minimum zone)
live-about-circle = { $by } about the least squares circle
live-between = { " " }({ $low } to { $high })
live-off = { $by } off
live-high-spot = high spot at { $hour } ({ $deg }°{ $u })
live-anywhere = , may be anywhere
live-a-turn = { $seconds } s a turn
live-same-each-turn = { $by } the same each turn
live-turn-to-turn = { $by } from turn to turn
live-axis-off = { $by } off at { $plane }, toward { $hour }
live-axis-tilted = tilted by { $by } µrad toward { $hour }
live-part-round = part round within { $by }
live-spindle = spindle { $by }
live-runout-at = { $by } at { $plane }, high at { $hour }
live-undulations = { $upr } undulations per turn, for roundness
live-ovality = ovality
live-three-jaw = three-jaw

## Heads of columns, which are narrow

live-column-round = round
live-column-bow = bow { $unit }
live-column-clamp = clamp
live-tight = TIGHT
live-loose = loose
live-column-off-line = off line { $unit }
live-column-up = up { $unit }
live-column-down = down { $unit }
live-column-up-down = up-down { $unit }
live-column-mark = mark
live-column-big = big %
live-column-middle = middle %
live-column-small = small %
live-column-plane = plane { $unit }
live-column-where = where
live-column-measured = measured { $unit }
live-column-wanted = wanted { $unit }
live-column-left = left { $unit }
live-column-tir = TIR { $unit }
live-column-off = off { $unit }
live-column-form = round { $unit }
live-column-order = order
live-read-round = read round the clock, { $unit }

## Plots

live-residuals = Residual of each round
live-profile = Profile
live-round-the-clock = Round the clock
live-errors-of-indicator = Errors of the indicator
live-what-is-left = What is left
live-as-it-turns = As it turns, by the last marked turn
live-as-recorded = As recorded
live-from-below = from below
live-from-above = from above
live-axis-from-a = from A, { $unit }
live-axis-from-first = reading from the first, { $unit }
live-axis-known-step = known step, { $unit }
live-axis-error = error, { $unit }
live-axis-from-plane = from the gauge plane, { $unit }
live-axis-table = table, mm
live-axis-since = since it began, s

## A target that is counted down to

live-tap = { $place } end { $way }, to { $target }
live-tap-in-divisions = { $place } end { $count } { $way }, to { $dial }, { $target }
live-true-it = TRUE IT: at { $place }, { $by } { $way }, to { $target }
live-true-it-in-divisions = TRUE IT: at { $place }, { $by }, { $count }, { $way }, to { $target }
live-go-first = Go to { $place } first, then key g
live-turn-first = Turn it there under the indicator first, then key g
live-to-go = { $by } to go
live-there = at the target
live-too-far = { $by } too far
live-end-there = { $place } end is at { $target }: { $then }
live-part-there = { $place } is at { $target }: { $then }
live-end-past = TOO FAR: { $place } end back, { $way }, to { $target }
live-part-past = TOO FAR: { $place } back, { $way }, to { $target }
live-trial = A trial: it shows where the set-up turns

## What to do now: zero

live-first-round = First round: go to { $place }, let it settle, mark. The pass is { $pass }.
live-round-under-way = Round under way: go to { $place } and mark it.
live-then-mark-at = go to { $place } and mark it
live-or-close-round = Or close the round: mark { $place }.
live-clamped-now = Clamp tight: a round from { $place } shows what tightening did.
live-loosened-now = Clamp loose: a round from { $place } shows where it stands now.
live-done-tight = { $word } with the clamp tight: done. Next: sweep, or grind and size (key s).
live-loosen-first = Loosen the clamp (key c) before the next tap.
live-tighten-now = { $word } while loose: tighten the clamp, key c, then mark a round.
live-aimed-off = Aimed off as the clamp wants it: tighten it, key c, then mark a round, from { $place }.
live-at-target = At the target as near as the display shows: mark another round from { $place }, or tighten the clamp, key c.
live-then-round-from = mark a round, from { $place }
live-mark-next-round = Mark the next round, from { $place }.

## What to do now: sweep

live-feed-on = Feed on evenly, and mark the end as you pass it.
live-move-along = Move along the part at any pace, and mark the end.
live-a-place = a place
live-sweep-go-to = Go to { $place }, let it settle, mark; then the next.
live-sweep-feed = Feed evenly, and mark ({ $place }) as you pass where it begins.
live-sweep-begin = Stand where it begins, and mark ({ $place }).
live-nothing-to-tap = In tolerance: nothing to tap. Key s opens the next step.
live-then-sweep-again = sweep again in a new step, key s
live-part-came-out = This is how the part came out. Key s opens the next step.
live-go-on-to = Go on to { $place }, or key s for the next step.
live-key-s-next = Key s opens the next step.

## What to do now: run-out

live-turn-on = Turn on, and mark each time that the line comes by.
live-turn-on-or-true = Turn on and mark; or key g once its high spot is under the indicator. { $then }.
live-draw-a-line = Draw a line on the part, turn it, and mark as the line comes by.
live-keep-turning = Keep it turning evenly for four turns or more, and mark the end.
live-let-it-turn = Let it turn at a steady speed, and mark the beginning.
live-next-angle = the next angle
live-turn-to = Turn to { $place }, let it settle, mark.
live-reverse = Now turn the part half a turn in its chuck, the indicator across, and go round again.
live-then-runout-again = TRUE there. Take the run-out again in a new step, key s
live-nothing-to-true = No eccentricity is proved: nothing to true. Key s: next step.

## What to do now: size

live-the-diameter = the diameter
live-the-stand-off = how far it stops short of its seat
live-over-rollers = the measurement over the rollers
live-depth-of-ball = the depth of the ball's top
live-what-at = { $what } at { $place }
live-measure = Measure { $what }, type it, enter.
live-measure-first = Before grinding, measure { $what } as well, type it, enter.
live-measure-ground = Ground: let it cool, measure { $what }, type it, enter.
live-measure-again = Measure { $what } again, without grinding: that tells how well it repeats. Ground since? o.
live-grind-and-measure = Grind, press o, let it cool, measure { $what }, type it, enter.
live-was-it-ground = Was the part ground between? o: yes. If not, measure { $what } again.
live-stop-at-size = STOP: at size or under, within the uncertainty.
live-stop-as-asked = STOP: at size, as near as was asked for.
live-stop-too-far = STOP: nothing puts that back. Measure once more, cool and clean, to be sure.

## What to do now: contact and dial

live-print-first = Dye it thinly, seat it in its mate, turn it a little, draw it. Space: judge the print.
live-print-again = Ground again? Wipe, dye, print, and judge anew: space. The last print counts.
live-bring-from-below = Bring { $nominal } under the indicator, coming to it from below; let it settle, mark.
live-bring-from-above = Bring { $nominal } under the indicator, coming to it from above; let it settle, mark.
live-bring = Bring { $place } under the indicator, and mark.
live-every-step-read = Every step is read. Go round again for repeatability, or key s.
live-name-the-step = Key p names the step under the indicator, as `1.2mm`; the way follows from the last one.

## The live view in a terminal: what is said and asked

ground-now = ground: the next mark is of a new state of the part
ground-before = ground before mark { $mark }: what was marked before it is of an earlier state
not-ground-before = not ground before mark { $mark }: that is taken back
note-kept = note kept
watch-no-answer = the background process does not answer, so nothing was stored
watch-ask-again = what was asked can be asked again once it is back
watch-y-does-it = y does it; any other key leaves all as it is
watch-take-back = take back { $mark }?
watch-nothing-to-undo = there is no mark to take back in this step
watch-no-target = there is no target to go to yet
watch-gives-target = a round, a sweep or a run-out gives one
watch-needs-place = the mark needs its place
watch-esc-drops = esc drops it
watch-done = DONE: { $mark }
watch-taken-back = TAKEN BACK: mark { $number } at { $place }. The record keeps it, as taken back
watch-takes-its-place = the next mark takes its place
watch-no-mark = that press is no mark
watch-clamp-tight = clamp TIGHT
watch-clamp-loose = clamp LOOSE
watch-tightening-measured = the next round measures what tightening did
watch-o-again = said by mistake: o again
watch-step-open = { $kind } step { $step } is open
watch-not-ground = the part was NOT ground after all?
watch-take-instrument = on the cable { $cable }, does { $instrument } count from now on? A new round begins with it
watch-take-jump = if the reading has jumped while its cable was out: does it count as it is now? A new round begins with it
watch-accepted = accepted for the cable { $cable }
watch-round-begins = the next mark begins a new round
watch-no-session = no session is open
watch-session-opens = `conewright session open NAME` opens one
watch-close-step = close the { $kind } step { $step }? { $lost }
watch-not-done = NOT DONE: { $what }
watch-sure = SURE?  { $what }
watch-note = note
watch-value-for = value for { $place }
watch-the-next-mark = the next mark
watch-which-step = WHICH STEP?
watch-which-step-closed = WHICH STEP?  { $kind } step { $step } is closed first
watch-sound-off = sound OFF
watch-sound-on = sound ON, played by `{ $player }`
watch-sound-means = one tone a beat: before the target; two: past it; higher is nearer. b: off
watch-no-sound = no sound: { $why }
watch-sound-again = b tries again
watch-no-connection = NO CONNECTION { $age }
watch-shown-is-old = { $why }; what is shown is old
watch-connecting = CONNECTING
watch-waiting = waiting for the background process
watch-asking = { "  " }(asking)

## Words at the left in a terminal, and under its plots

watch-label-last = LAST
watch-label-plan = PLAN
watch-label-note = NOTE
watch-label-next = NEXT
watch-label-budget = BUDGET
watch-label-clamp = clamp
watch-last-minute = LAST MINUTE, { $unit }
watch-no-reading = LAST MINUTE: no reading
watch-minute-ago = 60 s ago
watch-now = now
watch-allowed = allowed
watch-circles = circles at { $low } and { $high }
watch-circles-hand = circles at { $low } and { $high }; hand: high spot

## The line of keys

watch-key-mark = space MARK
watch-key-undo = u undo
watch-key-clamp = c clamp
watch-key-note = n note
watch-key-help = ? help
watch-key-quit = q quit
watch-key-step = s step
watch-key-round = r new round
watch-key-ground = o ground
watch-key-place = p place
watch-key-sound = b sound
watch-key-type = 0-9 type
watch-enter-marks = enter marks it
watch-enter-keeps = enter keeps it
watch-enter-keeps-next = enter keeps it for the next mark
watch-key-opens = 1-6 opens that step
watch-key-back = any other key goes back
watch-key-yes = y yes
watch-key-no = any other key: no
watch-key-scroll = space, up and down scroll

## The help of the live view

watch-space = space
watch-tap = tap
watch-hatched = hatched
watch-help-space = marks the next station with the settled reading there; enter does the same
watch-help-digits = begin a typed value for the next station: 0.0125, 12.5um, -3.5div
watch-help-undo = takes the last mark back, after y; the record keeps it as taken back
watch-help-round = the next mark begins a new round
watch-help-clamp = the clamp was tightened, or loosened: the next round measures the shift
watch-help-ground = the part was ground: what is marked from now on is of a new state of it; again: it was not
watch-help-instrument = another instrument is plugged in, or its reading has jumped: it counts from now on, after y
watch-help-place = says where the next mark is, when it is not the next in order
watch-help-go = the indicator now stands at the place of the target: the bar counts down
watch-help-note = a note into the session
watch-help-sound = sound on or off: one tone a beat before the target, two past it, higher is nearer
watch-help-step = a menu of the steps; the open one is closed first
watch-help-quit = leaves; the background process, the session and the step go on
watch-help-tap = at the station that the advice names, until the bar is gone; then mark a round
watch-help-hatched = digits drawn hatched are old: they are not what the indicator shows now

## Kinds of step in a menu, and what is judged by eye

purpose-tap-until-both-ends-read-the-same = tap until both ends read the same
purpose-how-straight-it-is-and-its-slope = how straight it is, and its slope
purpose-how-it-runs-and-its-high-spot = how it runs, and its high spot
purpose-what-is-left-to-grind = what is left to grind
purpose-judge-a-print-of-marking-dye = judge a print of marking dye
purpose-check-the-indicator-on-gauge-blocks = check the indicator on gauge blocks
judged-per-cent-printed-at-big-end-middle-small-end-90-40-0 = per cent printed at big end, middle, small end (90 40 0)

## The plan of a session, as the live page asks for it

plan-a-tolerance = a tolerance
plan-the-span = the span from A to B
plan-a-step = one step of the indicator's display
plan-not-of-the-angle = this tolerance is not one of the angle
plan-state-to-see = state { $missing } to see whether this set-up can prove its tolerance

## The live page: its frame

page-sound-off = Sound off
page-sound-on = Sound on
page-menu = Menu
page-sleeps = This tablet may turn its screen off: the page cannot keep it on over this link. Set a long time for the screen in its settings.
page-understood = Understood
page-values = Values
page-what-to-do = What to do now
page-result = Result
page-where = Where the indicator stands
page-listed = Marks and results
page-listing = Table of marks and results
page-set-up = Set-up and plan
page-plots = Plots
page-minute = Reading of the last minute
page-no-minute = no reading in the last minute
page-ago = { $seconds } s ago
page-actions = Actions
page-mark = Mark
page-undo = Undo
page-drop = Drop it
page-there = I am there
page-clamp-tight = Clamp tight
page-clamp-loose = Loosen clamp
page-ground = Ground
page-next-step = Next step
page-open-session = Open session
page-yes = Yes
page-no = No
page-back = Back
page-open = Open
page-needs-scripts = The page needs scripts, which come from this computer alone.
page-no-session = No session is open. The button Open session opens one.
page-label-remark = REMARK
page-indicator-here = ● indicator
page-next-here = ○ next
page-lost = LINK LOST for { $seconds } s: what is shown is old. The page looks for the daemon.
page-link-lost = LINK LOST
page-no-answer = the daemon does not answer
page-load-again = Load the page again.
page-try-again = try again when the link is back
page-look-first = look whether it was done before you do it again
page-answered = the daemon answered { $status }

## The live page: what is said and asked

page-marking = Marking…
page-yes-a-mark = Yes, a mark
page-judge = Judge the print
page-big-end = Big end
page-middle = Middle
page-small-end = Small end
page-zone = { $zone }, per cent printed
page-how-much = How much of each third of the cone has printed?
page-mark-print = Mark the print
page-close-step = Close the open step?
page-close-it = Close it
page-step-closed = step { $step } is closed
page-marked = mark { $number }, { $place }
page-reading = Reading
page-reading-help = a length such as 0.012, 2.5um or -3.5div
page-place = Place
page-place-help = { $place } unless stated: { $wanted }
page-the-next = the next
page-type-title = Mark a typed reading
page-no-step = no step is open
page-opens-step = open one: Next step
page-dropped = dropped: it is no mark
page-take-back = Take back the last mark?
page-take-it-back = Take it back
page-taken-back = taken back: mark { $number }, { $place }. The record keeps it, as taken back
page-stands-at = the indicator stands at { $place }
page-tight = clamp TIGHT: the next round measures what tightening did
page-ground-now = ground: what is marked from now on is of a new state of the part
page-ground-before = ground before mark { $mark }
page-session-open = session { $session } is open
page-session-closed = session { $session } is closed
page-no-kinds = the daemon has not told the kinds of step yet
page-press-again = press again
page-open-a-step = Open a step
page-step-open = step { $step } is open
page-round-begins = the next mark begins a new round
page-round-goes-on = the next mark goes on with its round
page-write-note = Write a note
page-into-record = It goes into the record.
page-keep-it = Keep it
page-note = Note
page-menu-typed = Type a reading
page-menu-typed-what = for the next mark, or with a place
page-menu-round = New round
page-menu-round-what = the next mark begins one
page-menu-note-what = into the record
page-menu-close = Close the step
page-menu-close-what = and open none
page-menu-end = Close the session
page-menu-end-what = its record is then complete
page-menu-open-what = a part and its set-up
page-menu-sessions-what = search, and open their records
page-end-title = Close the session?
page-end-text = Its record is then complete.
page-as-it-turns = As it turns, by the last turn that was marked
page-as-recorded = As it is recorded
page-plot-said = { $title }: { $points } points
page-plot-last = , the last { $y } at { $x }
page-plot-axes = ; { $y } over { $x }
page-round-said = { $title }: { $readings } readings, range { $range }
page-round-high = , the high spot at { $hour } o'clock
page-hand = — high spot

## The live page: its forms and its list of sessions

page-open-title = Open a session
page-more-options = More options
page-step-title = Open a step: { $kind }
page-not-stated = not stated
page-range = { $low } to { $high }
page-form-taper-help = 1:12, a name, or a half angle
page-form-length = Length of the cone
page-form-bar = Bar
page-form-bar-help = its centre distance, or its name
page-form-bar-kind = Kind of bar
page-form-span = Span from A to B
page-form-big-end = Station at the big end
page-form-side = Indicator touches on the side
page-form-step = One step of its display
page-sessions = Sessions
page-search = Part's name contains
page-found = List of sessions
page-pair = Two sessions side by side
page-side-by-side = Sessions { $one } and { $other } side by side
page-choose-two = Choose two to set side by side
page-set-beside = set session { $session } beside another
page-none-found = no session is found
page-out = OUT
page-column-number = no.
page-column-part = part
page-column-record = record
page-column-result = result
page-column-opened = opened
page-column-taper = taper
page-column-steps = steps
page-column-figure = figure
page-column-session = session { $session }
