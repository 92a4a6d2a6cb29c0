-- All set-ups of one fixture in a year, newest first, with the number of marks behind each.
SELECT s.bench, s.id, s.name, s.opened, s.verdict, s.half_angle_error_arcsec, s.expanded_arcsec, count(m.number)
FROM session s JOIN mark m ON m.bench = s.bench AND m.step = s.id
WHERE s.fixture = 'fixture 50-3' AND s.opened >= '2026-01-01' AND s.opened < '2027-01-01'
GROUP BY s.bench, s.id
ORDER BY s.opened DESC;
