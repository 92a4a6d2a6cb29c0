# The words of documents, cards and outcomes in English, in the format of Project Fluent. A translation is a file like this one
# with the same keys and values: see DEVELOPERS.md, "A language". Quantities come with their unit, in the reader's style.

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
