# Die Wörter von Dokumenten, Karten, Ergebnissen und Ansichten auf Deutsch; die Schlüssel sind die von en.ftl. Begriffe nach DIN
# und ISO und dem Brauch der Werkstatt. Größen kommen mit ihrer Einheit.

## Verdicts, and why there is none

in-tolerance = in Toleranz
out-of-tolerance = außerhalb der Toleranz
undecided = nicht entscheidbar
too-close = zu nah an der Grenze
repeatability-unknown = Wiederholpräzision unbekannt
was-moved = der Aufbau wurde verstellt
rounds-do-not-agree = die Durchgänge stimmen nicht überein
no-tolerance-stated = keine Toleranz angegeben
no-limit-stated = kein Grenzwert angegeben
verdict = Entscheid
rule-of-decision = Entschieden wird nach ISO 14253-1: Ein Wert ist in Toleranz, wenn sein ganzes Intervall zu 95 % innerhalb der Grenzen liegt, außerhalb der Toleranz, wenn sein ganzes Intervall außerhalb liegt, und sonst nicht entscheidbar.

## Amounts

amount-unknown = { $value }, Unsicherheit nicht bekannt
amount-within = { $value } ± { $u } (95 %)
amount-between = { $value } ({ $low } bis { $high }, 95 %)
from-to = { $low } bis { $high }
below = unter { $least }
readings = { $count ->
    [one] 1 Messwert
   *[other] { $count } Messwerte
}
turns = { $count ->
    [one] 1 Umdrehung
   *[other] { $count } Umdrehungen
}
direction = { $deg }° ({ $hour } Uhr)
# Deutsch zählt die halbe Stunde zur folgenden.
direction-half = { $deg }° (halb { $later } Uhr)
outliers = Ausreißer
outliers-none = keine
outliers-included = { $found }, mitgezählt
outliers-left-out = { $found }, wie verlangt weggelassen
outliers-partly = { $found }, davon { $rejected } wie verlangt weggelassen

## The half angle, and the tap

half-angle = Einstellwinkel α/2
half-angle-error = Abweichung des Einstellwinkels
half-angle-with-stack = Einstellwinkel, mit Endmaßen
half-angle-limits = Grenzen der Abweichung des Einstellwinkels
half-angle-is = Einstellwinkel { $decision }
residual-angle = Restwinkel
cone-steeper = , der Kegel steiler
cone-shallower = , der Kegel flacher
on-diameter-along-taper = im Durchmesser längs des Kegels
over-length = , auf { $length }
tap = Klopfen
at-place = bei { $place }
tap-to = , { $way }, bis { $target } ({ $move })
tap-divisions = { $count } { $way }, bis { $target } auf der Uhr
divisions = { $count } Skt
tap-trial = ein Versuch: wo der Aufbau dreht, ist noch nicht bekannt
toward-indicator = zum Messgerät hin
away-from-indicator = vom Messgerät weg
aims-off = Zielt daneben { $by }
aims-off-both = Zielt daneben { $one } und { $other }
aim-clamp = um { $by } arcsec, die das Klemmen zurücknimmt
aim-wanted = um { $by } arcsec für den verlangten Einstellwinkel

## Budgets

budget-of-half-angle = Unsicherheitsbilanz des Einstellwinkels
budget-of-stock = Unsicherheitsbilanz des Aufmaßes im Durchmesser
budget-of-residual = Unsicherheitsbilanz des Restwinkels
budget-of-last-residual = Unsicherheitsbilanz des Restwinkels im letzten Durchgang
budget-of-eccentricity = Unsicherheitsbilanz der Exzentrizität
budget-of-later-reading = Unsicherheitsbilanz eines späteren Messwerts
budget-largest-first = { $budget } (Standardunsicherheiten, größte zuerst)
budget-none = Keine: nichts sagt, wie weit den Messwerten zu trauen ist.
column-component = Beitrag
column-u = u
column-unit = Einheit
column-degrees-of-freedom = Freiheitsgrade

## Zero

no-round-completed = kein Durchgang wurde beendet
no-round-since = , und seither wurde kein Durchgang beendet
display-allows = allein die Anzeige erlaubt
over-the-span = auf die Messlänge
axis-rises = die Achse steigt über das Werkstück um
worth-on-diameter = Wirkung im Durchmesser
worth-at-most = , höchstens { $most } (Achsabstand { $axes })
worth-as-half-angle = Wirkung als Abweichung des Einstellwinkels
turns-about = dreht um
turns-from-a = { " " }von A{ $u } ({ $from })
known-before = vorher bekannt
from-rounds = Durchgänge { $rounds }
clamp-shifts-by = das Klemmen verstellt um
clamp-shifts-agree = , Median von { $count }: sie stimmen überein, also um so viel daneben zielen
clamp-shifts-few = , Median von { $count }: noch zu wenige, um danach zu zielen
marks-by-round = Marken und Gerade je Durchgang
last-rounds-larger = Die letzten { $rounds } Durchgänge, größer
reading-with-dwells = Messwert über der Zeit, mit den markierten Ruhestellen
reading-over-time = Messwert über der Zeit
time-of-cable = Zeit, s (Kabel { $cable })
along-the-travel = längs des Tischwegs, { $unit } ({ $how })
reading-from-a = Messwert gegen A, { $unit }
reading-axis = Messwert, { $unit }
round-number = Durchgang { $round }
rounds = Durchgänge
clamp-tight = fest
clamp-loose = lose
column-round = Durchgang
column-clamp = Klemmung
column-slope = Steigung, { $small }/{ $long }
column-residual = Restwinkel, "
column-u-arcsec = u, "
column-drift = Drift, { $unit }/min
column-bow = Wölbung, { $unit }

## Sweep

over-swept-length = auf die abgefahrene Länge
straightness-mz = Geradheit, kleinste Zone
straightness-ls = Geradheit, kleinste Quadrate
bow = Wölbung
middle-nearer = , die Mitte näher am Messgerät
ends-nearer = , die Enden näher am Messgerät
scatter-about-line = Streuung um die Gerade
standard-deviation = , Standardabweichung
swept = abgefahren
swept-from-to = , von { $from } bis { $to }, { $points } Punkte in der Geraden
filter = Filter
no-filter = keiner
filter-cut-off = { $filter }, Grenzwellenlänge { $cut_off }: für Geradheit und Wölbung
filter-gaussian-iso-16610-21 = Gauß, ISO 16610-21
filter-left-out = , ohne { $length } an jedem Ende
drawn-of = Von { $readings } Messwerten sind { $points } gezeichnet: der kleinste und der größte jeder Spalte, damit nichts verloren geht, was heraussteht.
drawn-all = Alle { $readings } Messwerte sind gezeichnet.
places-as-marked = Orte wie markiert
places-from-cable = Orte vom Kabel des Tisches
places-by-feed = Orte bei gleichmäßig angenommenem Vorschub
readings-and-line = Messwerte und ihre Ausgleichsgerade
departure-from-line = Abweichung von der Ausgleichsgeraden, mit der kleinsten Zone
departure-axis = Abweichung, { $unit }
series-readings = Messwerte
least-squares-line = Ausgleichsgerade
least-squares = kleinste Quadrate
minimum-zone = kleinste Zone
filtered-profile = gefiltertes Profil

## Run-out

plane = Messebene
planes = Messebenen
first-of-planes = , die erste von { $planes }
runout-tir = Rundlauf, ganzer Ausschlag
runout-own = Rundlauf des Werkstücks selbst
eccentricity = Exzentrizität
high-spot = Hochpunkt
no-high-spot = keiner
may-be-anywhere = , kann überall liegen
roundness-mz = Rundheit, kleinste Zone
roundness-own = Rundheit des Werkstücks selbst
roundness-ls = Rundheit, kleinste Quadrate
behind-filter = , hinter einem Filter von { $upr } Wellen je Umdrehung
repeats-turn-by-turn = wiederholt sich je Umdrehung
synchronous = { " " }(synchron, ohne die Exzentrizität)
does-not-repeat = wiederholt sich nicht
asynchronous = { " " }(asynchron)
read = gemessen
turn-found = { " " }von { $turn } s, u { $u } s, aus den Messwerten gefunden
turn-of = { " " }von { $turn } s
true-it = Ausrichten
true-it-by = , { $by } vom Messgerät weg, bis { $target }
    oder bei { $opposite } ebenso weit zu ihm hin
axis-off-by = die Achse liegt daneben um
axis-toward-at = { " " }nach { $direction } in Messebene { $plane }
axis-toward = { " " }nach { $direction }
tilt = Neigung
in-plane = { " " }in Messebene { $plane }
runout-of-step = Rundlauf von Schritt { $step }
as-read-with-spot = wie gemessen, mit dem Hochpunkt
form-without-eccentricity = Form, ohne die Exzentrizität
readings-round-a-turn = Messwerte über eine Umdrehung
form = Form
round-a-turn = Über eine Umdrehung
how-to-read-polar = Voller Kreis: kleinste Quadrate. Gestrichelte Kreise: kleinste Zone. Kreuze: Ausreißer. Außen ist zum Messgerät hin.
later-turns-dashed = { " " }Umdrehungen nach der ersten sind gestrichelt.
heavy-is-filtered = { " " }Die dicke Linie in den Messwerten ist das gefilterte Profil.
band-holds-all = { $readings } Messwerte aus { $turns } Umdrehungen: das Band enthält alle, die Linie ist ihr Mittel.
runout-elsewhere = Rundlauf, den die Achse anderswo ergibt
column-plane = Messebene, { $unit }
column-runout = Rundlauf, { $unit }
column-eccentricity = Exzentrizität, { $unit }
column-high-spot = Hochpunkt, °
column-roundness = Rundheit, { $unit }
column-readings = Messwerte
harmonics = Harmonische
harmonics-of = Harmonische: { $of }
undulations-a-turn = Wellen je Umdrehung
column-a-turn = je Umdrehung
column-amplitude = Amplitude, { $unit }
column-usually = üblicherweise (allgemeine Praxis)
usually-ovality = Ovalität: zwei Backen, krumme Spindel, weiche Zentren
usually-three-lobes = Dreibogen: Dreibackenfutter, spitzenloses Schleifen
usually-four-lobes = Vierbogen: Vierbackenfutter
usually-odd-lobes = ungerade Bogenzahl: spitzenloses Schleifen
usually-many-lobes = viele Wellen: Rattern, ein Lager
no-larger-than-scatter = nicht größer, als Streuung und Anzeige sie machen können
oval = oval
jaws = { $jaws } Backen
part-and-spindle-apart = Werkstück und Spindel getrennt, durch Umschlag
part = Werkstück
spindle = Spindel
the-part = das Werkstück
the-spindle = die Spindel
the-part-title = Das Werkstück
the-spindle-title = Die Spindel
column-of = von
column-form-mz = Form, kleinste Zone, { $unit }
column-form-ls = kleinste Quadrate, { $unit }
one-ring = ein Ring { $worth }
hour-up = 12 Uhr, 0°
hour-right = 3 Uhr
hour-down = 6 Uhr, 180°
hour-left = 9 Uhr

## Size

left-on-diameter = Aufmaß im Durchmesser
stock-at-plane = , in Messebene { $plane }
stock-left = Aufmaß { $stock } im Durchmesser
stock-unsure = { " " }wie gemessen; die Unsicherheit ist nicht bekannt
stock-unknown = das Aufmaß ist nicht bekannt
rounds-disagree = die Durchgänge widersprechen sich
rounds-disagree-why = , und nichts sagt, dass dazwischen geschliffen wurde
at-size-or-too-far = auf Maß oder zu weit
within-uncertainty = , innerhalb der Unsicherheit
under-size = UNTERMASS um { $by } im Durchmesser
bore-over-size = BOHRUNG ÜBERMASS um { $by } im Durchmesser
infeed-to-axis = Zustellung senkrecht zur Achse
infeed-to-cone = Zustellung senkrecht zum Kegelmantel
passes = Zustellungen
passes-none = keine vor dem Fertigschleifen
passes-of = { $count } zu { $each }
passes-last = { $count }: { $others } zu { $each }, die letzte zu { $last }
plunges = Einstiche
plunges-at = { $count } bei { $places } { $unit } vom großen Ende
plunges-overlap = mit einer Überdeckung von { $overlap }
wheel-run = Scheibe läuft
lead-out-by = { $by } über das kleine Ende hinaus
blend-radius-of = Eckenradius { $radius }
angle-costs = Winkelfehler kostet
angle-costs-at = { $big } am großen Ende, { $small } am kleinen Ende, im Durchmesser
next-pass = nächste Zustellung
pass-rough = schruppen: Zustellung { $infeed }, sollte { $left } im Durchmesser lassen
pass-finish = fertigschleifen: Zustellung { $infeed }, sollte { $left } im Durchmesser lassen
pass-back = die Scheibe um { $infeed } zurücknehmen und überschleifen: sollte { $left } im Durchmesser lassen
pass-none = keine: auf Maß
column-pass = Zustellung
column-infeed = zugestellt, { $unit }
column-before = Aufmaß davor, { $unit }
column-expected = erwartet, { $unit }
column-measured = gemessen, { $unit }
column-off = daneben, { $unit }
ground-so-far = Zustellungen bisher
ground-as-advised = Was im Durchmesser blieb. Die Zustellungen sind die empfohlenen: wo eine andere eingestellt war, stimmt die nächste nicht.
then-to-finish = dann { $depth } zum Fertigschleifen
column-diameter = Durchmesser, { $unit }
column-wanted = Sollmaß, { $unit }
column-left = Aufmaß im Durchmesser, { $unit }
diameters-against-wanted = Durchmesser gegen den Sollkegel
planes-count-from = Messebenen zählen ab der Bezugsebene, positiv zum kleinen Ende hin.
plane-from-gauge-plane = Messebene, { $unit } ab der Bezugsebene zum kleinen Ende hin
from-wanted = gegen Sollmaß, { $unit }
measured = gemessen
the-wanted-cone = der Sollkegel

## Contact

bears = trägt
contact = Tragbild
contact-of-length = { " " }der Länge: großes Ende { $big } %, Mitte { $middle } %, kleines Ende { $small } %
gap-is-worth = der Spalt entspricht
worth-between = { $least } bis { $most } arcsec
worth-up-to = bis { $most } arcsec
worth-at-least = mindestens { $least } arcsec
worth-nothing = nichts im Einstellwinkel
steeper-than-mate = { $by } steiler als das Gegenstück
shallower-than-mate = { $by } flacher als das Gegenstück
either-than-mate = { $by } steiler oder flacher als das Gegenstück
tolerance = Toleranz
arcsec-either-way = ± { $limit } arcsec
arcsec-from-to = { $low } bis { $high } arcsec
zero-and-sweep = Nullabgleich und Abfahren
print-agrees = das Tragbild stimmt mit ihrem Ergebnis überein
print-contradicts = DAS TRAGBILD WIDERSPRICHT ihrem Ergebnis
film-of-dye = Farbschicht
by-eye = nach Augenmaß: es trägt { $bears }
print-by-zones = Das Tragbild nach Zonen
thirds-of-length = Drittel der Länge
printed-percent = abgefärbt, %
bare = blank
big-end = großes Ende
middle = Mitte
small-end = kleines Ende
bears-evenly-over-the-whole-length = gleichmäßig auf ganzer Länge
bears-heavy-at-the-big-end-light-at-the-small-end = stark am großen Ende, schwach am kleinen
bears-heavy-at-the-small-end-light-at-the-big-end = stark am kleinen Ende, schwach am großen
bears-heavy-at-both-ends-hollow-in-the-middle = stark an beiden Enden, hohl in der Mitte
bears-heavy-in-the-middle-light-at-both-ends = stark in der Mitte, schwach an beiden Enden
bears-at-the-big-end-only = nur am großen Ende
bears-at-the-small-end-only = nur am kleinen Ende
bears-at-both-ends-hollow-in-the-middle = an beiden Enden, hohl in der Mitte
bears-in-the-middle-only = nur in der Mitte
bears-nowhere = nirgends
print-within-the-tolerance-by-eye = in Toleranz, nach Augenmaß
print-beyond-the-tolerance-by-eye = außerhalb der Toleranz, nach Augenmaß
print-proves-nothing-at-this-tolerance = beweist bei dieser Toleranz nichts

## Dial

error-of-indication = Messabweichung der Anzeige
over-the-range = { " " }über den Bereich
hysteresis = Umkehrspanne
not-read-both-ways = nicht in beiden Richtungen gemessen
repeatability = Wiederholpräzision
nothing-read-twice = unbekannt: nichts wurde zweimal gleich gemessen
largest-range-sd = { " " }größte Spanne, Standardabweichung { $sd }
a-later-reading = ein späterer Messwert
later-unknown = Unsicherheit nicht bekannt: Wiederholpräzision unbekannt
later-within = ± { $u } (95 %), aus beiden Richtungen
later-steps-use = spätere Schritte rechnen mit
not-corrected = nicht korrigiert
corrected-by-rows = korrigiert mit einer Tabelle von { $rows } Zeilen
checked = geprüft
errors-up-and-down = Messabweichung der Anzeige, aufwärts und abwärts
no-correction-asked = Eine Korrektur wurde nicht verlangt.
correction = Korrektur
correction-between-rows = Zwischen zwei Zeilen linear, jenseits davon wie am Ende.
column-nominal = Nennmaß, { $unit }
column-up = aufwärts, { $unit }
column-down = abwärts, { $unit }
column-hysteresis = Umkehrspanne, { $unit }
column-shown = angezeigt, { $unit }
column-add = addieren, { $unit }
upward = aufwärts
downward = abwärts
shown-less-nominal = Anzeige minus Nennmaß, { $unit }

## Where a mark is

place-at = { " " }bei { $station }
place-turn = Umdrehung
place-begin = Anfang
place-end = Ende
place-plane = Messebene { $plane }
place-stand-off = Abstand
place-rollers = Rollen auf { $stacks }
place-big-ball = große Kugel
place-small-ball = kleine Kugel
place-up = { $nominal } aufwärts
place-down = { $nominal } abwärts
place-print = Tragbild { $big } / { $middle } / { $small } %

## Documents

utc = { $moment } UTC
record-title = Einstellprotokoll: { $name }
card-title = Einstellkarte: { $name }
card-below = Sitzung { $session }, vor der Arbeit; das Protokoll sagt, was daraus wurde
record-seal = Siegel { $seal }
the-records-seal = Siegel des Protokolls
signed-by = Protokoll signiert von
signed-by-key = { $name }, Schlüssel { $key }; verify prüft ihn im Protokoll als .json
continued = { $heading } (Fortsetzung)
page-of = { $page } von { $pages }
results = Ergebnisse
instruments = Messmittel
as-found-and-as-left = Vorgefunden und hinterlassen
plan = Vorgabe
taper-source = Kegel: { $source }
no-steps = Die Sitzung hat keine Schritte.
notes-and-events = Notizen und Ereignisse
cautions = Sicherheitshinweise
wanted = Verlangt
its-indicator = Sein Messgerät: { $check }
marks = Marken
signature-date = Datum
signature-name = Name
signature = Unterschrift
written-by = Geschrieben von Conewright { $program }, Protokollfassung { $version }. Jedes Ergebnis oben lässt sich aus den Messwerten im JSON des Protokolls nachrechnen: conewright verify FILE.json

event-note = Notiz
event-clamp = Klemmung
event-ground = geschliffen
event-cable = Kabel
event-clock = Uhr
event-gap = Lücke
event-program = Programm
column-what = Was
column-cable = Kabel
column-port = Anschluss
column-settings = Einstellungen
column-cadence = Messwerte
column-frame = Telegramm
cadence-streams = laufend
cadence-polled = auf Abfrage
cadence-press = auf Tastendruck

## What a document says of a session

part-name = Werkstück
session = Sitzung
opened = Geöffnet
closed = Geschlossen
still-open = noch offen, als dies geschrieben wurde
setting-instrument = Einstellgerät
gauge-blocks = Endmaße
stations = Messstellen
fixture = Spannvorrichtung
taper = Kegel
half-angle-fact = Einstellwinkel α/2
half-angle-and-included = { $half }  ({ $dms }), Kegelwinkel { $included }
gauge-diameter = Bezugsdurchmesser
length = Länge
tolerance-fact = Toleranz
place-of-station = { $station } bei { $place }
stack = Endmaßkombination
stack-sum = { $blocks } = { $sum } (verlangt { $height })
stack-sets = Was sie einstellt
stack-sets-angle = Einstellwinkel { $angle }°, { $error }″ neben dem verlangten
indicator = Messgerät
indicator-cable = Messgerät am Kabel
indicator-resolution = Ziffernschritt des Messgeräts
indicator-error = Messabweichung des Messgeräts
indicator-check = Letzte Prüfung des Messgeräts
indicator-lever = Fühlhebel des Messgeräts
lever-to-surface = { $angle }° zur Oberfläche
check-words = { $when }, u = { $u }{ $corrected }
check-corrected = , korrigiert mit einer Tabelle von { $rows } Zeilen
checked-at = geprüft { $moment }
checked-undated = geprüft, ohne Datum
bar-sine = Sinuslineal
bar-hinged = Sinuslineal mit Gelenk
bar-tangent = Tangenslineal
bar-centres = , Rollenabstand { $length }
bar-discs = , Scheiben mit Radius { $small } und { $large }
bar-constant = , Konstante { $length }
on-cable = am Kabel { $cable }
readings-typed = Messwerte getippt
resolution-of = Ziffernschritt { $step }
error-within = Messabweichung höchstens ± { $limit }
none-recorded = keine festgehalten
indicator-of-step = Messgerät von Schritt { $step }
indicator-of-steps = Messgerät der Schritte { $steps }
column-instrument = Messmittel
column-what-it-is = Was es ist
column-last-check = Letzte Prüfung

## Steps of a session

as-found = Vorgefunden (Schritt { $step })
as-left = Hinterlassen (Schritt { $step })
found-caption = vorgefunden
left-caption = hinterlassen
one-scale = Beide sind in einem Maßstab gezeichnet.
verdict-fact = Entscheid
column-step = Schritt
column-result = Ergebnis
column-found = Gefunden
step-title = { $step }: { $title }
step-heading = Schritt { $step }: { $title }
title-found = { $title }, vorgefunden
title-left = { $title }, hinterlassen
qualifier-about-level = auf waagerechte Achse
kind-zero = Nullabgleich
kind-sweep = Abfahren
kind-run-out = Rundlauf
kind-size = Maß
kind-contact = Tragbild
kind-dial = Messgeräteprüfung
from-to-utc = { $from } bis { $to } UTC
nothing-computed = Nichts wurde berechnet.
column-mark = Marke
column-place = Ort
column-mark-round = Durchgang
column-value = Wert, { $unit }
column-spread = Spanne, { $unit }
column-mark-readings = Messwerte
first-and-last = Die ersten und die letzten { $half } von { $count }; alle sind im Protokoll.
taken-back = Zurückgenommen und nirgends mitgezählt: Marke { $marks }.

## The card

set-up = Aufbau
sizes = Maße
steps = Schritte
order-of-round = Folge eines Durchgangs
big-end-fact = Großes Ende
at-station-a = bei Messstelle A
at-station-b = bei Messstelle B
indicator-touches = Messgerät tastet
on-wheel-side = auf der Seite der Schleifscheibe
opposite-wheel = gegenüber der Schleifscheibe
can-be-proved = Was sich beweisen lässt
diameter-small-end = Durchmesser am kleinen Ende
of-step = { $value } (Schritt { $step })
task-wring = { $blocks } ansprengen und den Winkel damit einstellen.
task-clamp = Werkstück spannen, und eine magnetische Haltung mit einer mechanischen Klemmung sichern.
task-indicator = Messgerät befestigen und an Messstelle A bringen.
task-of-kind = { $kind }. { $task }
task-mark-a-b-and-a-again-tap-as-advised-tighten-the-clamp-and-mark-once-more-until-the-half-angle-is-in-tolerance = A, B und wieder A markieren, klopfen wie angegeben, festklemmen und noch einmal markieren, bis der Einstellwinkel in Toleranz ist.
task-sweep-the-cone-from-end-to-end-half-angle-straightness-and-bow = Den Kegel von Ende zu Ende abfahren: Einstellwinkel, Geradheit und Wölbung.
task-turn-the-part-by-hand-and-mark-round-a-turn-run-out-high-spot-where-to-true-it = Das Werkstück von Hand drehen und rundum markieren: Rundlauf, Hochpunkt, wo auszurichten ist.
task-measure-the-size-what-is-left-on-diameter-and-the-passes = Das Maß messen: Aufmaß im Durchmesser und Zustellungen.
task-take-a-print-of-marking-dye-in-the-gauge-and-judge-where-it-bears = Mit Tuschierfarbe in der Lehre ein Tragbild nehmen und beurteilen, wo es trägt.
task-check-the-indicator-on-gauge-blocks-going-up-and-then-down = Das Messgerät an Endmaßen prüfen, erst aufwärts, dann abwärts.

## The table of readings

mark-taken-back = { $mark } (zurückgenommen)


## Cautions


caution-stop-the-wheel-and-lock-the-spindle-before-hands-or-an-indicator-go-in = Die Scheibe anhalten und die Spindel verriegeln, bevor Hände oder ein Messgerät hineingehen.
caution-back-a-magnetic-hold-with-a-mechanical-clamp = Eine magnetische Haltung mit einer mechanischen Klemmung sichern.
caution-tap-with-a-soft-mallet-and-never-on-a-hardened-edge-near-the-face = Mit einem weichen Hammer klopfen, und nie auf eine gehärtete Kante nahe am Gesicht.
caution-ring-test-the-wheel-before-it-is-mounted-and-never-run-it-above-its-marked-speed = Die Scheibe vor dem Aufspannen der Klangprobe unterziehen und nie schneller laufen lassen als angegeben.
caution-keep-the-guards-on-protect-the-eyes-and-draw-off-dust-and-mist = Die Schutzhauben dranlassen, die Augen schützen, Staub und Nebel absaugen.
caution-let-the-part-cool-before-it-is-measured = Das Werkstück vor dem Messen abkühlen lassen.
caution-read-the-data-sheet-of-the-marking-dye-and-wear-gloves-for-it-no-gloves-near-turning-parts = Das Datenblatt der Tuschierfarbe lesen und dafür Handschuhe tragen; keine Handschuhe nahe an drehenden Teilen.
caution-turn-the-part-by-hand-for-run-out-no-gloves-near-turning-parts = Das Werkstück für den Rundlauf von Hand drehen; keine Handschuhe nahe an drehenden Teilen.
caution-local-rules-the-machine-s-manual-and-licensed-practice-come-first-what-is-said-here-does-not-replace-them = Betriebsvorschriften, die Anleitung der Maschine und anerkannte Regeln gehen vor; was hier steht, ersetzt sie nicht.

## Budget components, as a record names them

component-hysteresis-either-way = Umkehrspanne, aus beiden Richtungen
component-places-of-the-stations = Orte der Messstellen
component-scatter-about-the-line = Streuung um die Gerade
component-repeatability-of-the-indicator = Wiederholpräzision des Messgeräts
component-between-the-nominals = zwischen den Nennmaßen
component-centre-distance-of-the-bar = Rollenabstand des Lineals
component-error-of-the-indicator = Messabweichung des Messgeräts
component-gauge-blocks = Endmaße
component-height-of-the-stack = Höhe der Endmaßkombination
component-linear-expansion = Längenausdehnung
component-lobes-between-the-places = Wellen zwischen den Orten
component-places-of-the-planes = Orte der Messebenen
component-places-on-the-travel = Orte auf dem Tischweg
component-repeatability-of-a-single-reading = Wiederholpräzision eines einzelnen Messwerts
component-resolution-of-the-indicator = Ziffernschritt des Messgeräts
component-resolution-of-the-instrument = Ziffernschritt des Messmittels
component-resolution = Ziffernschritt
component-resolution-from-value-to-value = Ziffernschritt, von Wert zu Wert
component-scatter-about-the-cone = Streuung um den Kegel
component-scatter-of-the-marks = Streuung der Marken
component-scatter-of-the-readings = Streuung der Messwerte
component-scatter = Streuung
component-straightness-of-the-travel = Geradheit des Tischwegs
component-temperature = Temperatur
component-the-correction-s-own-scatter = Streuung der Korrektur selbst
component-uneven-angles = ungleiche Winkel
component-repeatability-as-stated = Wiederholpräzision wie angegeben
component-repeatability-by-the-last-check = Wiederholpräzision nach der letzten Prüfung
component-the-indicator-as-checked = das Messgerät, wie geprüft
component-error-of-indication-over-the-range = Messabweichung der Anzeige über den Bereich
component-the-diameters-as-stated = die Durchmesser, wie angegeben
component-the-stand-off-as-stated = der Abstand, wie angegeben
component-scatter-of-what-was-measured-again = Streuung des erneut Gemessenen
component-repeatability-of-the-instrument = Wiederholpräzision des Messmittels
component-repeatability-checked-and-seen = Wiederholpräzision, geprüft und gesehen

## Remarks, as the arithmetic writes them and records hold them: one that has the other's beginning stands before it

remark-corrected-by-check = Die Messwerte sind mit der letzten Prüfung des Messgeräts korrigiert
remark-multiplied-for-lever = Die Messwerte sind mit { $a } multipliziert, für einen Fühlhebel unter { $b }° zur Oberfläche
remark-divided-by-cosine = Die Messwerte sind durch { $a }, den Kosinus des Einstellwinkels, geteilt, für ein Messgerät senkrecht zum Kegelmantel
remark-brought-to-20 = Die Durchmesser sind von { $a } °C auf 20 °C gebracht ({ $b } °C am Messmittel): { $c }
remark-moved = { $a } zeigt { $b } gegen die Marke davor: der Aufbau wurde verstellt, diese Marke beginnt Durchgang { $c }
remark-can-prove = Dieser Aufbau kann seine Toleranz beweisen: ± { $a } arcsec von ± { $b }
remark-cannot-prove-most-cures = Dieser Aufbau kann seine Toleranz nicht beweisen: er ist bestenfalls auf ± { $a } arcsec gut (größter Beitrag: { $b }), und ± { $c } sind erlaubt. Es würde genügen: { $d }
remark-cannot-prove-most = Dieser Aufbau kann seine Toleranz nicht beweisen: er ist bestenfalls auf ± { $a } arcsec gut (größter Beitrag: { $b }), und ± { $c } sind erlaubt
remark-turns-elsewhere = Die Durchgänge sagen, dass der Aufbau bei { $a } dreht (± { $b }), nicht bei den angegebenen { $c }
remark-sense-not-stated = Der Drehsinn ist nicht angegeben, darum zählt die Abweichung der Endmaßkombination in beiden Richtungen: großes Ende und Seite des Messgeräts angeben
remark-nothing-to-tap = { $a } steht auf einen halben Ziffernschritt am Ziel: es gibt nichts zu klopfen
remark-worth-needs = Was es am Werkstück bewirkt, lässt sich nicht sagen. Es fehlt: { $a }
remark-axis-enough = Eine Achse, die über das Werkstück um { $a } steigt, kostet es { $b } im Durchmesser, höchstens { $c }: das genügt
remark-axis-costs = Eine Achse, die über das Werkstück um { $a } steigt, kostet es { $b } im Durchmesser, höchstens { $c }
remark-nothing-repeats = Nichts zeigt, wie sich die Messwerte wiederholen, darum gibt es kein Intervall zu 95 %; allein die Anzeige erlaubt ± { $a } arcsec. Zwei weitere Durchgänge A B A markieren, ohne den Aufbau zu berühren, oder --repeatability angeben
remark-steady-feed = Die Orte setzen gleichmäßigen Vorschub zwischen den beiden Marken voraus
remark-two-points = Zwei Punkte zeigen keine Streuung: mehr Orte markieren oder `--repeatability` angeben
remark-display-alone-sweep = Allein Anzeige und angegebene Abweichungen erlauben ± { $a }″; die Wiederholpräzision kommt hinzu
remark-neighbours-alike = Benachbarte Messwerte weichen gleich ab: die { $a } Messwerte zählen wie { $b } unabhängige
remark-unplaced = { $a } Messwerte liegen, wo der Ort des Tisches nicht bekannt ist, und zählen nicht
remark-judged-by-eye-practice = Ein Tragbild wird nach Augenmaß beurteilt, mit einer Farbschicht von { $a } (allgemeine Praxis)
remark-judged-by-eye = Ein Tragbild wird nach Augenmaß beurteilt, mit einer Farbschicht von { $a }
remark-heavy-at-ends = Stark an beiden Enden und hohl in der Mitte: ein hohler Kegel oder ein balliges Gegenstück; für die Wölbung abfahren
remark-heavy-in-middle = Stark in der Mitte: ein balliger Kegel oder ein hohles Gegenstück; für die Wölbung abfahren
remark-no-dye = Keine Farbe ging über: zu wenig Farbe, oder die Kegel berührten sich nicht; das beweist nichts
remark-print-proves-nothing = Das Tragbild beweist bei dieser Toleranz nichts: den Einstellwinkel mit Nullabgleich oder Abfahren messen
remark-print-agrees-with = Das Tragbild stimmt mit einem Einstellwinkel überein, der um { $a } ± { $b } Winkelsekunden abweicht
remark-print-does-not-agree = Das Tragbild stimmt nicht mit einem Einstellwinkel überein, der um { $a } ± { $b } Winkelsekunden abweicht: Gegenstück und Farbschicht prüfen, und ob beide sauber und kühl waren
remark-print-too-rough = Das Tragbild ist zu grob, um es mit einem Einstellwinkel zu vergleichen, der um { $a } ± { $b } Winkelsekunden abweicht
remark-part-under-size = Das Werkstück hat { $a } Untermaß im Durchmesser: nichts bleibt zu schleifen, und es ist nicht fertig, sondern zu klein
remark-bore-over-size = Die Bohrung hat { $a } Übermaß im Durchmesser: nichts bleibt zu schleifen, und sie ist nicht fertig, sondern zu groß
remark-at-size = Das Aufmaß liegt innerhalb seiner Unsicherheit: auf Maß, oder schon um bis zu { $a } im Durchmesser zu weit
remark-once-alone = Jeder Ort wurde einmal gemessen, und nichts zeigt, wie gut sich das wiederholt: darum gibt es kein Intervall zu 95 %. Anzeige und Angaben allein lassen ±{ $a } arcsec im Einstellwinkel und ±{ $b } im Durchmesser. Jeden Ort ohne Schleifen noch einmal messen oder die Wiederholpräzision angeben
remark-once-angle = Jeder Ort wurde einmal gemessen, und nichts zeigt, wie gut sich das wiederholt: darum gibt es kein Intervall zu 95 %. Anzeige und Angaben allein lassen ±{ $a } arcsec im Einstellwinkel. Jeden Ort ohne Schleifen noch einmal messen oder die Wiederholpräzision angeben
remark-once-stock = Jeder Ort wurde einmal gemessen, und nichts zeigt, wie gut sich das wiederholt: darum gibt es kein Intervall zu 95 %. Anzeige und Angaben allein lassen ±{ $a } im Durchmesser. Jeden Ort ohne Schleifen noch einmal messen oder die Wiederholpräzision angeben
remark-once = Jeder Ort wurde einmal gemessen, und nichts zeigt, wie gut sich das wiederholt: darum gibt es kein Intervall zu 95 %. Jeden Ort ohne Schleifen noch einmal messen oder die Wiederholpräzision angeben
remark-rounds-disagree-angle = Die Durchgänge widersprechen sich ab Durchgang { $c } um { $a } arcsec und { $b }, mehr als sie streuen: gezeigt ist, was von da an gemessen wurde. Wurde dazwischen geschliffen? Dann sagen: Taste o, oder `conewright ground` (in einer Tabelle die Zeilen davor weglassen). Wenn nicht, noch einmal messen
remark-rounds-disagree-stock = Die Durchgänge widersprechen sich ab Durchgang { $b } um { $a }, mehr als sie streuen: gezeigt ist, was von da an gemessen wurde. Wurde dazwischen geschliffen? Dann sagen: Taste o, oder `conewright ground` (in einer Tabelle die Zeilen davor weglassen). Wenn nicht, noch einmal messen
remark-measured-times-worse = { $a } Mal gemessen: derselbe Ort unterschied sich um bis zu { $b }, Standardabweichung { $c } mit { $d } Freiheitsgraden; das ist mehr als angegeben oder geprüft
remark-measured-times = { $a } Mal gemessen: derselbe Ort unterschied sich um bis zu { $b }, Standardabweichung { $c } mit { $d } Freiheitsgraden
remark-length-unknown = Die Länge des Kegels ist nicht bekannt, und so nicht sein kleines Ende: das Aufmaß lässt sich nicht sagen. Die Länge angeben
remark-no-plunges = Die Länge des Kegels ist nicht bekannt, darum lassen sich keine Einstiche sagen: --length angeben
remark-diameter-unknown = Kein Bezugsdurchmesser ist bekannt, darum lässt sich das Aufmaß nicht sagen: den Kegel angeben
remark-no-kit = Kein Endmaßsatz ist angegeben: die Abweichungen der Endmaße sind nicht mitgezählt
remark-stated-repeatability = Kein Nennmaß wurde zweimal gleich gemessen: es zählt die angegebene Wiederholpräzision von { $a }
remark-no-repeat-display = Kein Nennmaß wurde zweimal gleich gemessen, darum ist die Wiederholpräzision nicht bekannt und nichts wird zu 95 % behauptet; allein die Anzeige erlaubt ± { $a }. Die Stufen noch einmal durchgehen oder `--repeatability` angeben
remark-no-repeat = Kein Nennmaß wurde zweimal gleich gemessen, darum ist die Wiederholpräzision nicht bekannt und nichts wird zu 95 % behauptet. Die Stufen noch einmal durchgehen oder `--repeatability` angeben
remark-angle-from-first = Der Winkel zählt ab dem ersten Messwert, bei gleichmäßig angenommener Drehzahl
remark-no-common-zero = Die Winkel der Messebenen haben keinen gemeinsamen Nullpunkt und ergeben keine Achse: jede Umdrehung markieren
remark-steady-turns = Innerhalb jeder markierten Umdrehung gilt die Drehzahl als gleichmäßig
remark-another-turn = Eine Umdrehung von { $a } erklärt die Messwerte fast so gut wie eine von { $b } s: eine stoppen oder die Umdrehungen markieren
remark-nothing-tells-repeat = Nichts sagt, wie gut sich die Messwerte wiederholen: noch einmal rundum messen, mehr Orte messen oder die Wiederholpräzision des Messgeräts angeben
remark-harmonic-2 = Die größte Harmonische ist { $a } je Umdrehung mit { $b }: Ovalität, wie zwei Backen, eine krumme Spindel oder weiche Zentren sie lassen (allgemeine Praxis)
remark-harmonic-3 = Die größte Harmonische ist { $a } je Umdrehung mit { $b }: Dreibogen, wie ein Dreibackenfutter oder spitzenloses Schleifen ihn lässt (allgemeine Praxis)
remark-harmonic-4 = Die größte Harmonische ist { $a } je Umdrehung mit { $b }: Vierbogen, wie ein Vierbackenfutter ihn lässt (allgemeine Praxis)
remark-harmonic-odd = Die größte Harmonische ist { $a } je Umdrehung mit { $b }: eine ungerade Bogenzahl, wie spitzenloses Schleifen sie lässt (allgemeine Praxis)
remark-harmonic-many = Die größte Harmonische ist { $a } je Umdrehung mit { $b }: viele Wellen: eher Rattern oder ein Lager als die Spannung (allgemeine Praxis)
remark-lobes-shown = Diese Orte zeigen bis zu { $a } Wellen je Umdrehung; für mehr Wellen nehmen die Grenzen an, dass sie wie die gezeigten sind: mindestens { $b } Orte messen, um { $c } je Umdrehung zu sehen
remark-reversal-centring = Die Exzentrizitäten enthalten, wie das Werkstück jeweils zentriert war; was darüber liegt, ist die Form
remark-ground-between = Dazwischen wurde geschliffen: die { $a } Marken davor zählen nicht
remark-ground-after = Nach dieser Messung wurde geschliffen: noch einmal messen, um zu sehen, wie es jetzt ist
remark-one-silence = `{ $a }` schickte { $b } s der Aufzeichnung lang nichts; nichts ist dafür erfunden
remark-silences = `{ $a }` schickte { $b } Mal nichts, bis zu { $c } s der Aufzeichnung lang; nichts ist dafür erfunden
remark-one-not-stored = 1 Messwert von `{ $a }` nicht gespeichert und nicht mitgezählt
remark-not-stored = { $a } Messwerte von `{ $b }` nicht gespeichert und nicht mitgezählt

## Phrases within remarks

phrase-span = eine Messlänge von { $a } (`--span { $b }`)
phrase-finer-indicator = ein Messgerät, das { $a } anzeigt
phrase-better-kit = ein kalibrierter Endmaßsatz oder ein längeres Lineal
phrase-state-sense = --big-end und --indicator-side angeben, damit die Abweichung der Endmaßkombination zurückgenommen werden kann
phrase-part-length = die Länge des Werkstücks
phrase-wheel-diameter = der Durchmesser der Schleifscheibe
phrase-part-diameter = der Durchmesser des Werkstücks
phrase-cures = { $a }, oder { $b }
phrase-two = { $a } und { $b }
phrase-per-100 = { $a } je { $b }
phrase-or = { $a } oder { $b }

## The live view: the screen of an open step

live-title-no-session = conewright: keine Sitzung
live-title-no-step = { $name }: Sitzung { $session }, kein Schritt
live-title = { $name }: Sitzung { $session }, { $kind } { $step }
live-typed = Werte werden getippt
live-bytes-skipped = { $bytes } Bytes unlesbar
live-skipped = { $cable }: { $bytes } Bytes, zuletzt { $last }
live-pressed-twice = zweimal gedrückt
live-pressed-times = { $times } Mal gedrückt
live-second-a-mark = ist der zweite, { $reading }, auch eine Marke?
live-last-a-mark = ist der letzte, { $reading }, auch eine Marke?
live-press-answers = { $asked } Leertaste ja, u nein
live-waiting = WARTET auf Ruhe, { $seconds } s
live-u-drops = u verwirft
live-hold-still = still halten
live-recording = AUFZEICHNUNG
live-ends = Leertaste BEENDET
live-line-comes-by = Leertaste: der Strich kommt
live-no-end = Die Aufzeichnung hat noch kein Ende und würde nicht zählen
live-loses-round = Durchgang { $round } ist nicht beendet und würde nicht zählen
live-loses-marks = Aus den Marken, bisher { $marks }, lässt sich noch nichts berechnen
live-unplanned = mit Taste p, sonst beim Markieren
live-a-print = ein Tragbild
live-next-new-round = { $place }, NEUER Durchgang
live-next-round = { $place }, Durchgang { $round }
live-place-travel = Messstelle oder Abstand von A
live-place-dial = Nennmaß unter dem Messgerät, etwa 1.2mm
live-place-angle = Winkel, etwa 4h oder 120
live-place-plane = Messebene, mm ab der Bezugsebene zum kleinen Ende
live-allowed-as-angle = { $stated }: { $limits } arcsec im Einstellwinkel
live-stations-are = { $stations }; ein Durchgang ist { $pass }
live-mark = Marke { $number }, { $place }, Durchgang { $round }, { $value }
live-mark-bare = Marke { $number }, { $place }
live-dwell = Spanne { $spread } in { $readings } Messwerten
live-one-reading = ein Messwert
live-waiting-for-daemon = Warten auf den Hintergrundprozess.
live-no-session = Keine Sitzung ist offen: `conewright session open NAME` öffnet eine.
live-no-step = Kein Schritt ist offen: Taste s öffnet einen.
live-not-computed = Noch lässt sich nichts berechnen: { $why }
live-not-yet = noch nicht: { $why }

## The state of a cable

live-cable-live = LIVE
live-cable-silent = STUMM
live-cable-quiet = STILL
live-cable-stale = ALT
live-cable-gone = WEG
live-cable-busy = BELEGT
live-cable-denied = GESPERRT
live-cable-other = ANDERES GERÄT

## Words at the left, which are short

live-label-now = JETZT
live-label-tap = JETZT
live-label-notice = HINWEIS
live-label-stations = STELLEN
live-label-allowed = ERLAUBT
live-label-fixture = AUFNAHME
live-label-cable = KABEL
live-label-skipped = UNLESBAR
live-label-marks = MARKEN
live-label-pivot = DREHUNG
live-label-clamp = KLEMMUNG
live-label-axes = ACHSEN
live-label-filter = FILTER
live-label-worth = WIRKT
live-label-form = FORM
live-label-points = PUNKTE
live-label-so-far = BISHER
live-label-here = HIER
live-label-errors = ABW.
live-label-later = SPÄTER
live-label-gap = SPALT
live-label-print = BILD
live-label-infeed = ZUSTELLUNG
live-label-passes = AUFTEILUNG
live-label-next-pass = NÄCHSTER GANG
live-label-last-pass = LETZTER GANG
live-pass-expected = erwartet { $length }
live-pass-left = geblieben { $length }
live-label-cone = KEGEL
live-label-centre = MITTE
live-label-part = TEIL
live-label-orders = WELLEN
live-label-turns = UMDR.
live-label-axis = ACHSE
live-label-apart = GETRENNT

## Large values: what stands above, in and under the digits

live-label-reading = MESSWERT
live-label-reading-at = MESSWERT, zuletzt { $place }
live-label-typed = GETIPPT
live-label-typed-for = GETIPPT für { $place }
live-label-to-go = NOCH
live-label-there = AM ZIEL
live-label-too-far = ZU WEIT
live-label-next = DANN
live-label-next-up = DANN, AUF
live-label-next-down = DANN, AB
live-label-residual = RESTWINKEL
live-label-residual-round = RESTWINKEL, Durchg. { $round }
live-label-residual-tight = RESTWINKEL, Durchg. { $round }, fest
live-label-half-angle = α/2 WEICHT AB um
live-label-line = GERADE zum Tischweg
live-label-straight = GERADHEIT
live-label-range = SPANNE
live-label-range-so-far = SPANNE bisher
live-label-line-so-far = GERADE bisher
live-label-readings = MESSWERTE
live-label-runout = RUNDLAUF
live-label-runout-so-far = RUNDLAUF bisher
live-label-high-spot = HOCHPUNKT
live-label-error = ABWEICHUNG
live-label-span = SPANNE der Abw.
live-label-left = AUFMASS im Durchm.
live-label-undersize = UNTERMASS um
live-label-oversize = ÜBERMASS um
live-label-big-end = GROSSES ENDE
live-label-middle = MITTE
live-label-small-end = KLEINES ENDE
live-next-value = Marke
live-type-to-mark = Wert tippen zum Markieren
live-enter-marks = { $unit } Eingabetaste markiert
live-not-current = { $unit }, NICHT AKTUELL
live-not-current-state = { $unit }, NICHT AKTUELL: { $state }
live-settled = { $unit }, ruhig
live-moving = { $unit }, BEWEGT
live-no-reading-yet = { $state }: noch kein Messwert
live-as-last-sent = { $unit }, { $state }: wie zuletzt geschickt
live-steeper = , steiler
live-shallower = , flacher
live-arcsec-within = arcsec{ $way }, ± { $u } (95 %)
live-arcsec-display = arcsec{ $way }, Anzeige ± { $u }
live-station = Messstelle
live-nominal = { $unit } Nennmaß
live-bare = %, BLANK
live-printed = % abgefärbt
live-not-judged = nicht beurteilt
live-square-to-axis = { $unit }, senkr. zur Achse
live-square-to-cone = { $unit }, senkr. zum Kegel
live-tir = { $unit }, Ausschlag
live-oclock = { $hour } Uhr
live-under-hour = Uhr = { $deg }°{ $plane }
live-under-degrees = Grad = { $hour }{ $plane }
live-in-plane = , Messebene { $plane }
live-no-round-yet = noch kein Durchgang
live-none-yet = noch kein Messwert

## Decisions, and what they rest on

live-half-angle = Einstellwinkel { $error } arcsec
live-half-angle-why = Einstellwinkel: { $why }
live-half-angle-of = Einstellwinkel { $angle }
live-allowed = erlaubt { $limits }
live-of-round = Durchgang { $round }: { $what }
live-enough = GENUG
live-not-enough = NICHT GENUG
live-in-tolerance = In Toleranz
live-at-most = höchstens { $worth } im Durchmesser
live-counted-in = mit der Unsicherheit des Restwinkels
live-agrees = STIMMT ÜBEREIN
live-does-not-agree = STIMMT NICHT ÜBEREIN
live-found-off = Einstellwinkel weicht ab um { $error } ± { $u } arcsec
live-print-proves-nothing = das Tragbild beweist bei dieser Toleranz nichts
live-print-too-rough = das Tragbild ist zu grob für den Vergleich mit dem Ergebnis
live-print-alone = ohne Nullabgleich und Abfahren ist nichts zu vergleichen
live-ground-between = DAZWISCHEN GESCHLIFFEN?
live-rounds-disagree = Widerspruch ab Durchgang { $round } um { $by }
live-at-size = AUF MASS ODER DARUNTER
live-stop-here = das Aufmaß liegt in der Unsicherheit: hier aufhören
live-undersize = UNTERMASS
live-too-small = im Durchmesser { $by } zu klein
live-oversize = ÜBERMASS
live-too-large = die Bohrung ist { $by } zu groß
live-at-plane = in Messebene { $plane }

## Facts

live-on-diameter = { $worth } im Durchmesser
live-over-its = { " " }auf { $length }
live-over = { $worth } auf { $length }
live-over-swept = { $worth } auf die abgefahrenen { $length }
live-under = unter { $least }
live-of-half-angle = { $angle } arcsec im Einstellwinkel
live-axis-rises = die Achse steigt darüber um { $rise }
live-about = um { $pivot }
live-shifts-by = verstellt um { $shift }
live-axes-apart = { $apart } auseinander, Werkstück und Scheibe
live-range = Spanne { $by }
live-line = Gerade { $slope } arcsec
live-bow = Wölbung { $bow }
live-placed = { $readings } Messwerte mit Ort
live-straight-within = gerade auf { $by } (kleinste Zone)
live-about-line = { $by } um die Ausgleichsgerade
live-from-to = von { $from } bis { $to }
live-points = { $count ->
    [one] 1 Punkt
   *[other] { $count } Punkte
}
live-filter = Filter { $filter }
live-outliers = Ausreißer: { $found }
live-outliers-rows = Ausreißer: { $found } (Zeile { $rows })
live-plan-half-angle = { $taper } Einstellwinkel { $angle }
live-plan-stack = Endmaße { $blocks }
live-plan-sets = Einstellung { $error } arcsec
live-error-at = Abweichung { $error } bei { $place }
live-errors-span = Abweichungen in { $span }
live-span = Spanne { $by }
live-hysteresis = Umkehrspanne { $by }
live-repeatability = Wiederholpräzision { $by }
live-later-within = ein späterer Messwert gilt auf ± { $u } (95 %)
live-later-unknown = Wiederholpräzision unbekannt: die Stufen noch einmal durchgehen
live-with-correction = mit seiner Korrektur
live-of-the-whole = { $percent } % des Ganzen
live-by-eye = nach Augenmaß, Farbschicht { $film }
live-infeed-axis = { $by } senkrecht zur Achse
live-infeed-cone = { $by } senkrecht zum Kegelmantel
live-runout = Rundlauf { $by }
live-round-within = rund auf { $by }
live-round-zone = rund auf { $by } (kleinste Zone)
live-about-circle = { $by } um den Ausgleichskreis
live-between = { " " }({ $low } bis { $high })
live-off = { $by } daneben
live-high-spot = Hochpunkt bei { $hour } ({ $deg }°{ $u })
live-anywhere = , kann überall liegen
live-a-turn = { $seconds } s je Umdrehung
live-same-each-turn = { $by } bei jeder Umdrehung gleich
live-turn-to-turn = { $by } von Umdrehung zu Umdrehung
live-axis-off = { $by } daneben bei { $plane }, nach { $hour }
live-axis-tilted = geneigt um { $by } µrad nach { $hour }
live-part-round = Werkstück rund auf { $by }
live-spindle = Spindel { $by }
live-runout-at = { $by } bei { $plane }, hoch bei { $hour }
live-undulations = { $upr } Wellen je Umdrehung, für die Rundheit
live-ovality = Ovalität
live-three-jaw = Dreibogen

## Heads of columns, which are narrow

live-column-round = Nr.
live-column-bow = Wölb. { $unit }
live-column-clamp = Kl.
live-tight = FEST
live-loose = lose
live-column-off-line = daneben { $unit }
live-column-up = auf { $unit }
live-column-down = ab { $unit }
live-column-up-down = auf-ab { $unit }
live-column-mark = Marke
live-column-big = groß %
live-column-middle = Mitte %
live-column-small = klein %
live-column-plane = Ebene { $unit }
live-column-where = Ort
live-column-measured = gemessen { $unit }
live-column-wanted = Soll { $unit }
live-column-left = Aufmaß { $unit }
live-column-tir = Rundl. { $unit }
live-column-off = exz. { $unit }
live-column-form = rund { $unit }
live-column-order = Welle
live-read-round = rundum gemessen, { $unit }

## Plots

live-residuals = Restwinkel je Durchgang
live-profile = Profil
live-round-the-clock = Rundum
live-errors-of-indicator = Abweichungen des Messgeräts
live-what-is-left = Aufmaß
live-as-it-turns = Wie es dreht, nach der letzten markierten Umdrehung
live-as-recorded = Wie aufgezeichnet
live-from-below = von unten
live-from-above = von oben
live-axis-from-a = ab A, { $unit }
live-axis-from-first = Messwert gegen den ersten, { $unit }
live-axis-known-step = Nennmaß, { $unit }
live-axis-error = Abweichung, { $unit }
live-axis-from-plane = ab der Bezugsebene, { $unit }
live-axis-table = Tisch, mm
live-axis-since = seit Beginn, s

## A target that is counted down to

live-tap = Ende { $place } { $way } klopfen, bis { $target }
live-tap-in-divisions = Ende { $place } um { $count } { $way } klopfen, bis { $dial }, { $target }
live-true-it = AUSRICHTEN: bei { $place } um { $by } { $way }, bis { $target }
live-true-it-in-divisions = AUSRICHTEN: bei { $place } um { $by }, { $count }, { $way }, bis { $target }
live-go-first = Erst zu { $place } fahren, dann Taste g
live-turn-first = Erst dort unter das Messgerät drehen, dann Taste g
live-to-go = noch { $by }
live-there = am Ziel
live-too-far = { $by } zu weit
live-end-there = Ende { $place } steht auf { $target }: { $then }
live-part-there = { $place } steht auf { $target }: { $then }
live-end-past = ZU WEIT: Ende { $place } zurück, { $way }, bis { $target }
live-part-past = ZU WEIT: { $place } zurück, { $way }, bis { $target }
live-trial = Ein Versuch: er zeigt, wo der Aufbau dreht

## What to do now: zero

live-first-round = Erster Durchgang: zu { $place } fahren, zur Ruhe kommen lassen, markieren. Die Folge ist { $pass }.
live-round-under-way = Durchgang läuft: zu { $place } fahren und markieren.
live-then-mark-at = zu { $place } fahren und markieren
live-or-close-round = Oder den Durchgang beenden: { $place } markieren.
live-clamped-now = Klemmung fest: ein Durchgang ab { $place } zeigt, was das Klemmen tat.
live-loosened-now = Klemmung lose: ein Durchgang ab { $place } zeigt, wo es jetzt steht.
live-done-tight = { $word }, fest geklemmt: fertig. Danach abfahren, oder schleifen und messen (Taste s).
live-loosen-first = Vor dem nächsten Klopfen die Klemmung lösen (Taste c).
live-tighten-now = { $word }, noch lose: festklemmen, Taste c, dann einen Durchgang markieren.
live-aimed-off = Daneben gezielt, wie die Klemmung es will: festklemmen, Taste c, dann ein Durchgang ab { $place }.
live-at-target = Am Ziel, so genau die Anzeige zeigt: noch einen Durchgang ab { $place } markieren, oder festklemmen, Taste c.
live-then-round-from = einen Durchgang markieren, ab { $place }
live-mark-next-round = Den nächsten Durchgang markieren, ab { $place }.

## What to do now: sweep

live-feed-on = Gleichmäßig weiterfahren und das Ende im Vorbeifahren markieren.
live-move-along = In beliebigem Tempo abfahren und das Ende markieren.
live-a-place = Ort frei
live-sweep-go-to = Hinfahren ({ $place }), zur Ruhe kommen lassen, markieren; dann weiter.
live-sweep-feed = Gleichmäßig fahren und den Anfang ({ $place }) im Vorbeifahren markieren.
live-sweep-begin = Am Anfang stehen und markieren ({ $place }).
live-nothing-to-tap = In Toleranz: nichts zu klopfen. Taste s öffnet den nächsten Schritt.
live-then-sweep-again = in einem neuen Schritt noch einmal abfahren, Taste s
live-part-came-out = So ist das Werkstück geworden. Taste s öffnet den nächsten Schritt.
live-go-on-to = Weiter zu { $place }, oder Taste s für den nächsten Schritt.
live-key-s-next = Taste s öffnet den nächsten Schritt.

## What to do now: run-out

live-turn-on = Weiterdrehen und jedes Mal markieren, wenn der Strich vorbeikommt.
live-turn-on-or-true = Weiterdrehen, markieren; steht der Hochpunkt unterm Messgerät: Taste g. { $then }.
live-draw-a-line = Einen Strich aufs Werkstück ziehen, drehen und markieren, wenn der Strich vorbeikommt.
live-keep-turning = Vier oder mehr Umdrehungen gleichmäßig weiterdrehen und das Ende markieren.
live-let-it-turn = Mit gleichmäßiger Drehzahl drehen lassen und den Anfang markieren.
live-next-angle = den nächsten Winkel
live-turn-to = Auf { $place } drehen, zur Ruhe kommen lassen, markieren.
live-reverse = Jetzt das Werkstück im Futter um eine halbe Umdrehung umschlagen, das Messgerät gegenüber, und noch einmal rundum.
live-then-runout-again = dort AUSGERICHTET. Rundlauf noch einmal in neuem Schritt, Taste s
live-nothing-to-true = Keine Exzentrizität ist bewiesen: nichts auszurichten. Taste s: nächster Schritt.

## What to do now: size

live-the-diameter = den Durchmesser
live-the-stand-off = den Abstand vor dem Sitz
live-over-rollers = das Maß über die Rollen
live-depth-of-ball = die Tiefe des Kugelscheitels
live-what-at = { $what } bei { $place }
live-measure = { $what } messen, eintippen, Eingabetaste.
live-measure-first = Vor dem Schleifen auch { $what } messen, eintippen, Eingabetaste.
live-measure-ground = Geschliffen: abkühlen lassen, { $what } messen, eintippen, Eingabetaste.
live-measure-again = Noch einmal { $what } messen, ohne zu schleifen: das zeigt die Wiederholpräzision. Seither geschliffen? o.
live-grind-and-measure = Schleifen, o drücken, abkühlen lassen, { $what } messen, eintippen, Eingabetaste.
live-was-it-ground = Wurde dazwischen geschliffen? o: ja. Sonst { $what } noch einmal messen.
live-stop-at-size = HALT: auf Maß oder darunter, innerhalb der Unsicherheit.
live-stop-as-asked = HALT: auf Maß, so nahe wie verlangt.
live-stop-too-far = HALT: das bringt nichts zurück. Kühl und sauber noch einmal messen, um sicher zu sein.

## What to do now: contact and dial

live-print-first = Dünn tuschieren, ins Gegenstück setzen, etwas drehen, abziehen. Leertaste: das Tragbild beurteilen.
live-print-again = Wieder geschliffen? Abwischen, tuschieren, neu beurteilen: Leertaste. Das letzte Tragbild zählt.
live-bring-from-below = { $nominal } von unten her unter das Messgerät bringen; zur Ruhe kommen lassen, markieren.
live-bring-from-above = { $nominal } von oben her unter das Messgerät bringen; zur Ruhe kommen lassen, markieren.
live-bring = { $place } unter das Messgerät bringen und markieren.
live-every-step-read = Jede Stufe ist gemessen. Für die Wiederholpräzision noch einmal durchgehen, oder Taste s.
live-name-the-step = Taste p nennt das Nennmaß unter dem Messgerät, etwa `1.2mm`; die Richtung folgt aus dem letzten.

## The live view in a terminal: what is said and asked

ground-now = geschliffen: die nächste Marke gehört zu einem neuen Zustand des Werkstücks
ground-before = geschliffen vor Marke { $mark }: was davor markiert wurde, gehört zu einem früheren Zustand
not-ground-before = nicht geschliffen vor Marke { $mark }: das ist zurückgenommen
note-kept = Notiz gespeichert
watch-no-answer = der Hintergrundprozess antwortet nicht, darum wurde nichts gespeichert
watch-ask-again = sobald er wieder da ist, noch einmal versuchen
watch-y-does-it = y tut es; jede andere Taste lässt alles, wie es ist
watch-take-back = { $mark } zurücknehmen?
watch-nothing-to-undo = in diesem Schritt ist keine Marke zurückzunehmen
watch-no-target = noch ist kein Ziel da
watch-gives-target = ein Durchgang, ein Abfahren oder ein Rundlauf ergibt eines
watch-needs-place = die Marke braucht ihren Ort
watch-esc-drops = Esc verwirft
watch-done = FERTIG: { $mark }
watch-taken-back = ZURÜCKGENOMMEN: Marke { $number } bei { $place }. Das Protokoll behält sie als zurückgenommen
watch-takes-its-place = die nächste Marke tritt an ihre Stelle
watch-no-mark = dieser Druck ist keine Marke
watch-clamp-tight = Klemmung FEST
watch-clamp-loose = Klemmung LOSE
watch-tightening-measured = der nächste Durchgang misst, was das Klemmen tat
watch-o-again = aus Versehen gesagt: noch einmal o
watch-step-open = Schritt { $step } ist offen: { $kind }
watch-not-ground = wurde das Werkstück doch NICHT geschliffen?
watch-take-instrument = zählt am Kabel { $cable } von jetzt an { $instrument }? Damit beginnt ein neuer Durchgang
watch-take-jump = falls die Anzeige gesprungen ist, während das Kabel gezogen war: zählt sie, wie sie jetzt ist? Damit beginnt ein neuer Durchgang
watch-accepted = angenommen für das Kabel { $cable }
watch-round-begins = die nächste Marke beginnt einen neuen Durchgang
watch-no-session = keine Sitzung ist offen
watch-session-opens = `conewright session open NAME` öffnet eine
watch-close-step = Schritt { $step } ({ $kind }) schließen? { $lost }
watch-not-done = NICHT GETAN: { $what }
watch-sure = SICHER?  { $what }
watch-note = Notiz
watch-value-for = Wert für { $place }
watch-the-next-mark = die nächste Marke
watch-which-step = WELCHER SCHRITT?
watch-which-step-closed = WELCHER SCHRITT?  { $kind } ({ $step }) wird geschlossen
watch-sound-off = Ton AUS
watch-sound-on = Ton AN, gespielt von `{ $player }`
watch-sound-means = ein Ton je Takt: vor dem Ziel; zwei: darüber hinaus; höher ist näher. b: aus
watch-no-sound = kein Ton: { $why }
watch-sound-again = b versucht es noch einmal
watch-no-connection = KEINE VERBINDUNG { $age }
watch-shown-is-old = { $why }; was hier steht, ist alt
watch-connecting = VERBINDUNG
watch-waiting = wartet auf den Hintergrundprozess
watch-asking = { "  " }(fragt)

## Words at the left in a terminal, and under its plots

watch-label-last = ZUVOR
watch-label-plan = PLAN
watch-label-note = NOTIZ
watch-label-next = DANN
watch-label-budget = BILANZ
watch-label-clamp = Klemmung
watch-last-minute = LETZTE MINUTE, { $unit }
watch-no-reading = LETZTE MINUTE: kein Messwert
watch-minute-ago = vor 60 s
watch-now = jetzt
watch-allowed = erlaubt
watch-circles = Kreise bei { $low } und { $high }
watch-circles-hand = Kreise bei { $low } und { $high }; Zeiger: Hochpunkt

## The line of keys

watch-key-mark = Leer MARKE
watch-key-undo = u zurück
watch-key-clamp = c Klemme
watch-key-note = n Notiz
watch-key-help = ? Hilfe
watch-key-quit = q aus
watch-key-step = s Schritt
watch-key-round = r neuer Durchgang
watch-key-ground = o geschliffen
watch-key-place = p Ort
watch-key-sound = b Ton
watch-key-type = 0-9 tippen
watch-enter-marks = Eingabetaste markiert
watch-enter-keeps = Eingabetaste speichert
watch-enter-keeps-next = Eingabetaste merkt ihn für die nächste Marke
watch-key-opens = 1-6 öffnet den Schritt
watch-key-back = jede andere Taste: zurück
watch-key-yes = y ja
watch-key-no = jede andere Taste: nein
watch-key-scroll = Leer, auf und ab blättern

## The help of the live view

watch-space = Leer
watch-tap = klopfen
watch-hatched = gerastert
watch-help-space = markiert die nächste Messstelle mit dem ruhigen Messwert dort; die Eingabetaste auch
watch-help-digits = beginnt einen getippten Wert für die nächste Messstelle: 0.0125, 12.5um, -3.5div
watch-help-undo = nimmt die letzte Marke zurück, nach y; das Protokoll behält sie als zurückgenommen
watch-help-round = die nächste Marke beginnt einen neuen Durchgang
watch-help-clamp = wurde festgeklemmt oder gelöst: der nächste Durchgang misst, was es verstellt hat
watch-help-ground = geschliffen: was von jetzt an markiert wird, gehört zu einem neuen Zustand des Werkstücks; noch einmal: doch nicht
watch-help-instrument = ein anderes Messgerät steckt, oder seine Anzeige ist gesprungen: es zählt von jetzt an, nach y
watch-help-place = sagt, wo die nächste Marke ist, wenn sie nicht die nächste der Folge ist
watch-help-go = das Messgerät steht jetzt am Ort des Ziels: der Balken zählt herunter
watch-help-note = eine Notiz in die Sitzung
watch-help-sound = Ton an oder aus: ein Ton je Takt vor dem Ziel, zwei darüber hinaus, höher ist näher
watch-help-step = eine Auswahl der Schritte; der offene wird erst geschlossen
watch-help-quit = verlässt die Ansicht; Hintergrundprozess, Sitzung und Schritt gehen weiter
watch-help-tap = an der Messstelle, die genannt ist, bis der Balken weg ist; dann einen Durchgang markieren
watch-help-hatched = gerasterte Ziffern sind alt: sie sind nicht, was das Messgerät jetzt zeigt

## Kinds of step in a menu, and what is judged by eye

purpose-tap-until-both-ends-read-the-same = klopfen, bis beide Enden gleich sind
purpose-how-straight-it-is-and-its-slope = wie gerade es ist, und die Steigung
purpose-how-it-runs-and-its-high-spot = wie es läuft, und sein Hochpunkt
purpose-what-is-left-to-grind = was noch zu schleifen ist
purpose-judge-a-print-of-marking-dye = ein Tragbild beurteilen
purpose-check-the-indicator-on-gauge-blocks = das Messgerät an Endmaßen prüfen
judged-per-cent-printed-at-big-end-middle-small-end-90-40-0 = Prozent abgefärbt: großes Ende, Mitte, kleines Ende (90 40 0)

## The plan of a session, as the live page asks for it

plan-a-tolerance = eine Toleranz
plan-the-span = die Messlänge von A bis B
plan-a-step = den Ziffernschritt des Messgeräts
plan-not-of-the-angle = diese Toleranz ist keine des Winkels
plan-state-to-see = angeben, um zu sehen, ob dieser Aufbau seine Toleranz beweisen kann: { $missing }

## The live page: its frame

page-sound-off = Ton aus
page-sound-on = Ton an
page-menu = Menü
page-sleeps = Dieses Tablet kann seinen Bildschirm abschalten: die Seite kann das über diesen Link nicht verhindern. In seinen Einstellungen eine lange Zeit wählen.
page-understood = Verstanden
page-values = Werte
page-what-to-do = Was jetzt zu tun ist
page-result = Ergebnis
page-where = Wo das Messgerät steht
page-listed = Marken und Ergebnisse
page-listing = Tabelle der Marken und Ergebnisse
page-set-up = Aufbau und Vorgabe
page-plots = Kurven
page-minute = Messwert der letzten Minute
page-no-minute = kein Messwert in der letzten Minute
page-ago = vor { $seconds } s
page-actions = Tasten
page-mark = Markieren
page-undo = Rückgängig
page-drop = Verwerfen
page-there = Ich bin dort
page-clamp-tight = Klemmen
page-clamp-loose = Lösen
page-ground = Geschliffen
page-next-step = Nächster Schritt
page-open-session = Sitzung öffnen
page-yes = Ja
page-no = Nein
page-back = Zurück
page-open = Öffnen
page-needs-scripts = Die Seite braucht Skripte; sie kommen nur von diesem Rechner.
page-no-session = Keine Sitzung ist offen. Der Knopf Sitzung öffnen öffnet eine.
page-label-remark = NOTIZ
page-indicator-here = ● Messgerät
page-next-here = ○ danach
page-lost = VERBINDUNG WEG seit { $seconds } s: was hier steht, ist alt. Die Seite sucht den Dienst.
page-link-lost = VERBINDUNG WEG
page-no-answer = der Dienst antwortet nicht
page-load-again = Die Seite neu laden.
page-try-again = noch einmal, sobald die Verbindung wieder da ist
page-look-first = vor dem nächsten Versuch nachsehen, ob es schon getan ist
page-answered = der Dienst antwortete { $status }

## The live page: what is said and asked

page-marking = Markiert …
page-yes-a-mark = Ja, eine Marke
page-judge = Tragbild beurteilen
page-big-end = Großes Ende
page-middle = Mitte
page-small-end = Kleines Ende
page-zone = { $zone }, Prozent abgefärbt
page-how-much = Wie viel von jedem Drittel des Kegels hat abgefärbt?
page-mark-print = Tragbild markieren
page-close-step = Den offenen Schritt schließen?
page-close-it = Schließen
page-step-closed = Schritt { $step } ist geschlossen
page-marked = Marke { $number }, { $place }
page-reading = Messwert
page-reading-help = eine Länge wie 0.012, 2.5um oder -3.5div
page-place = Ort
page-place-help = { $place }, wenn nichts da steht: { $wanted }
page-the-next = der nächste
page-type-title = Einen getippten Messwert markieren
page-no-step = kein Schritt ist offen
page-opens-step = einen öffnen: Nächster Schritt
page-dropped = verworfen: es ist keine Marke
page-take-back = Die letzte Marke zurücknehmen?
page-take-it-back = Zurücknehmen
page-taken-back = zurückgenommen: Marke { $number }, { $place }. Das Protokoll behält sie als zurückgenommen
page-stands-at = das Messgerät steht bei { $place }
page-tight = Klemmung FEST: der nächste Durchgang misst, was das Klemmen tat
page-ground-now = geschliffen: was von jetzt an markiert wird, gehört zu einem neuen Zustand des Werkstücks
page-ground-before = geschliffen vor Marke { $mark }
page-session-open = Sitzung { $session } ist offen
page-session-closed = Sitzung { $session } ist geschlossen
page-no-kinds = der Dienst hat die Arten von Schritten noch nicht genannt
page-press-again = noch einmal drücken
page-open-a-step = Einen Schritt öffnen
page-step-open = Schritt { $step } ist offen
page-round-begins = die nächste Marke beginnt einen neuen Durchgang
page-round-goes-on = die nächste Marke setzt ihren Durchgang fort
page-write-note = Eine Notiz schreiben
page-into-record = Sie geht ins Protokoll.
page-keep-it = Speichern
page-note = Notiz
page-menu-typed = Einen Messwert tippen
page-menu-typed-what = für die nächste Marke, oder mit einem Ort
page-menu-round = Neuer Durchgang
page-menu-round-what = die nächste Marke beginnt ihn
page-menu-note-what = ins Protokoll
page-menu-close = Den Schritt schließen
page-menu-close-what = und keinen öffnen
page-menu-end = Die Sitzung schließen
page-menu-end-what = ihr Protokoll ist dann vollständig
page-menu-open-what = ein Werkstück und sein Aufbau
page-menu-sessions-what = suchen und ihre Protokolle öffnen
page-end-title = Die Sitzung schließen?
page-end-text = Ihr Protokoll ist dann vollständig.
page-as-it-turns = Wie es dreht, nach der letzten markierten Umdrehung
page-as-recorded = Wie aufgezeichnet
page-plot-said = { $title }: { $points } Punkte
page-plot-last = , der letzte { $y } bei { $x }
page-plot-axes = ; { $y } über { $x }
page-round-said = { $title }: { $readings } Messwerte, Spanne { $range }
page-round-high = , der Hochpunkt bei { $hour } Uhr
page-hand = — Hochpunkt

## The live page: its forms and its list of sessions

page-open-title = Eine Sitzung öffnen
page-more-options = Mehr Angaben
page-step-title = Einen Schritt öffnen: { $kind }
page-not-stated = keine Angabe
page-range = { $low } bis { $high }
page-form-taper-help = 1:12, ein Name oder ein Einstellwinkel
page-form-length = Länge des Kegels
page-form-bar = Lineal
page-form-bar-help = sein Rollenabstand oder sein Name
page-form-bar-kind = Art des Lineals
page-form-span = Messlänge von A bis B
page-form-big-end = Messstelle am großen Ende
page-form-side = Messgerät tastet auf der Seite
page-form-step = Ziffernschritt seiner Anzeige
page-sessions = Sitzungen
page-search = Name des Werkstücks enthält
page-found = Liste der Sitzungen
page-pair = Zwei Sitzungen im Vergleich
page-side-by-side = Sitzungen { $one } und { $other } im Vergleich
page-choose-two = Zwei zum Vergleich wählen
page-set-beside = Sitzung { $session } zum Vergleich wählen
page-none-found = keine Sitzung gefunden
page-out = AUSSERHALB
page-column-number = Nr.
page-column-part = Werkstück
page-column-record = Protokoll
page-column-result = Ergebnis
page-column-opened = geöffnet
page-column-taper = Kegel
page-column-steps = Schritte
page-column-figure = Größe
page-column-session = Sitzung { $session }
