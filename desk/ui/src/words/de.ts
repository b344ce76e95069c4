// Every word of the page, in German.
import type { Words } from './en'

export const lang = 'de'

export const words: Words = {
  rooms: { slates: 'Klappen', site: 'Ort', frame: 'Bild', light: 'Licht', kit: 'Gerät', day: 'Tag', papers: 'Papiere', log: 'Logbuch', field: 'Draußen' },
  skip: 'zum Inhalt',
  roomsLabel: 'Räume',
  reading: 'der Ordner wird gelesen …',
  unreachable: 'der Rechner antwortet nicht',
  away: 'außer Reichweite; gezeigt wird, was zuletzt kam',
  busy: { reading: 'liest die Dateien', slates: 'löst die Flugwege', windows: 'sucht die Fenster', planning: 'plant den Tag', failed: 'fehlgeschlagen' },
  stopWork: 'anhalten',
  oldNumbers: 'In den Dateien sind Fehler. Was hier steht, gehört zur letzten Fassung ohne Fehler.',
  line: (n) => `Zeile ${n}`,
  mend: 'Abhilfe',
  theme: { day: 'Papier', dark: 'dunkel' },
  themeLabel: 'Papier oder dunkel',
  measuresLabel: 'Maße',
  metric: 'metrisch',
  imperial: 'Fuß',
  severity: { stop: 'Halt', caution: 'Vorsicht', unknown: 'unbekannt', note: 'Hinweis' },
  counts: (n, word) => `${n} ${word}`,
  clock: { label: 'Stunde des Tages', day: 'Drehtag', now: 'jetzt', earlier: 'zehn Minuten früher', later: 'zehn Minuten später', window: 'Fenster', sun: 'Sonne', planned: 'geplant' },
  slate: {
    list: 'Klappen',
    picture: (s) => `das mittlere Bild von ${s}, wie geplant; öffnet das Bild`,
    wish: 'Wunsch', rig: 'Fluggerät', lens: 'Objektiv', launch: 'von', light: 'Licht', windows: 'Fenster', noWindow: 'kein Fenster', barred: 'gesperrt, gleich zu welcher Stunde', never: 'nie richtig',
    begins: 'beginnt', ends: 'endet', findings: 'Befunde', noFindings: 'nichts gefunden', numbers: 'Zahlen', at: 'um', best: 'bester Augenblick', limit: 'Grenze', basis: 'Grundlage',
    moment: (s) => `bei ${s} der Aufnahme`,
    anyHour: 'gleich zu welcher Stunde', thisHour: 'zu dieser Stunde',
    priority: { must: 'muss', should: 'soll', nice: 'wäre schön' },
    scheduled: 'geplant', notScheduled: 'nicht im Tag', open: 'öffnen',
  },
  topics: { move: 'Bewegung', light: 'Licht', picture: 'Bild', flight: 'Flug', balance: 'Gleichgewicht', weather: 'Wetter', safety: 'Abstände', rules: 'Regeln', radio: 'Funk', crew: 'Mannschaft', match: 'Anschluss' },
  number: {
    move: 'Bewegung', duration: 'Dauer', length: 'Weg', topSpeed: 'höchstes Tempo', above: 'über Grund', farthest: 'größte Entfernung vom Start', clearance: 'über Gelände', obstacle: 'nächstes Hindernis', people: 'zu Menschen', subject: 'zum Motiv',
    sun: 'Sonne', skyline: 'Horizont zu ihr hin', shaded: 'Motiv im Geländeschatten', lit: 'Motiv außerhalb des Geländeschattens', illuminance: 'auf dem Motiv', colour: 'Lichtfarbe', fov: 'Bildwinkel', ev: 'LW bei ISO 100', sharp: 'scharf', blur: 'Wischer',
    mass: 'Abflugmasse', margin: 'Spielraum', hover: 'Schweben', energy: 'eine Aufnahme', transit: 'hin und zurück', usable: 'nutzbar je Akku', takes: 'Aufnahmen je Akku', thrust: 'Schub zu Gewicht', rotorOut: 'ein Rotor aus', wind: 'Wind in Flughöhe', gust: 'Böen', temperature: 'Temperatur', sky: 'Himmel',
    payload: 'Zuladung', tiltMoment: 'Neigemoment', plate: 'Platte verschieben', volume: 'Reserveraum', buffer: 'Bodenrisikopuffer', fall: 'weitester Fall', sight: 'Sichtweite bis', class: 'Klasse', unknown: 'unbekannt', infinity: '∞', kelvin: 'K', lux: 'lx', forward: 'nach vorn', back: 'nach hinten',
    acceleration: 'größte Beschleunigung', moving: 'zum bewegten Motiv', closing: (v) => `nähert sich mit ${v}`, hidden: 'Motiv verdeckt', outOfFrame: 'Motiv nicht im Bild', escape: 'ein Ausweg ist frei', crossing: 'durchs Bild in', natural: (s) => `natürlich ab ${s} s`,
    set: 'zum Set', stunt: 'zum Stunt', pilot: 'größte Entfernung vom Piloten', sees: 'Pilot sieht es durchweg', spotters: 'Beobachter nötig', glare: 'Sonne neben dem Fluggerät', top: (v) => `bis ${v} über Grund`, noWind: 'Wind unbekannt', fallEnergy: 'Energie eines Sturzes', groundRisk: 'Bodenrisikoklasse', lostLink: 'Funk weg: heim in', aboveLaunch: 'über dem Start', landing: 'Notlandung', yes: 'ja', no: 'nein',
  },
  card: { title: 'Karte', shutter: 'Verschluss', iso: 'ISO', stop: 'Blende', filters: 'Filter', none: 'keine', white: 'Weiß', focus: 'Schärfe', rate: 'Bildrate', error: 'Abweichung', none_possible: 'keine Karte: das Licht ist unbekannt oder kein Filter passt' },
  day: {
    title: 'Der Tag', call: 'Beginn', wrap: 'Schluss', sortie: 'Einsatz', pack: 'Akku', leaves: 'bleibt', latest: 'spätester Start', leftOut: 'Nicht untergebracht', because: 'weil', relax: 'ginge, wenn', planning: 'Der Tag wird geplant.', nothing: 'An diesem Tag ist nichts geplant.',
    proved: 'kein Plan ist besser', gap: (n) => `höchstens ${n} wäre besser`, score: 'Punkte', breaks: 'Pausen', charging: 'lädt', build: 'Umbau', move: 'Umzug', strip: 'Sonne, Wind, Einsätze und Akkus über den Tag', wind: 'Wind', windowOf: 'Fenster', again: (t) => `neu planen ab ${t}`,
    hint: 'Ziehen legt die Zeit einer Klappe fest; die Sperre hält sie. Beides steht dann in der Datei.', changed: 'Was sich geändert hat', moved: (a, b) => `von ${a} auf ${b}`, added: (t) => `kommt um ${t} dazu`, dropped: 'fällt weg', lock: 'Sperre',
  },
  edit: {
    title: 'ändern', undo: 'zurück', redo: 'wieder vor', conflict: 'Jemand hat hier zuerst etwas anderes gesichert. Nichts ist verloren:', yours: 'Ihres', theirs: 'das andere', keepYours: 'Ihres sichern', keepTheirs: 'das andere behalten', step: (n) => `Bewegung ${n}`,
    fields: {
      title: 'Titel', wish: 'Wunsch', priority: 'Rang', rig: 'Fluggerät', lens: 'Objektiv', launch: 'Startplatz', subject: 'Motiv', light: 'Licht', takes: 'Aufnahmen', fixed: 'fest um', from: 'nicht vor', until: 'nicht nach', filters: 'Filter',
      move: 'Bewegung', bearing: 'Richtung', distance: 'Abstand', end_distance: 'bis Abstand', height: 'Höhe', end_height: 'bis Höhe', radius: 'Halbmesser', sweep: 'Schwenk', rise: 'Steigen', travel: 'Fahrt', speed: 'Tempo', duration: 'Dauer', side: 'Seite', to_subject: 'zum Motiv', format: 'Format', rate: 'Bildrate',
    },
    units: 'Einheiten, wie man sie sagt: 400 ft, 12 m, 25 kt, 30 deg.',
  },
  join: { title: 'Zum Dreh dazukommen', code: 'Kennwort', name: 'Ihr Name', go: 'dazu', how: 'Die Leitung zeigt am Rechner ein Kennwort: Papiere, dann „ein Telefon dazulassen“. Jedes gilt einmal.' },
  kit: {
    title: 'Fluggeräte, Gleichgewicht, Akkus', airframe: 'Zelle', gimbal: 'Kardan', camera: 'Kamera', lenses: 'Objektive', pilot: 'Pilot', operator: 'Kameraführung', trainer: 'Übungsgerät', balance: 'Gleichgewicht und Masse, wie geflogen', packs: 'Akkus', pack: 'Akku', model: 'Bauart', cycles: 'Zyklen', charge: 'Ladung', sorties: 'Einsätze', drawn: 'entnommen', least: 'kleinster Rest', house: 'Eigene Grenzen des Hauses',
    limits: { reserve: 'Rest bei der Landung', clearance: 'Abstand', wire_clearance: 'Abstand zu Leitungen', people_distance: 'zu Menschen', subject_distance: 'zu bewegten Motiven', wind: 'Wind', gust: 'Böen', visibility: 'Sicht', reaction_time: 'Reaktionszeit', position_error: 'Lagefehler', crossing_time: 'Durchlaufzeit', thrust_margin: 'Schubreserve', link_margin: 'Funkreserve', setup_time: 'zwischen Einsätzen', lens_change: 'Objektivwechsel', filter_change: 'Filterwechsel', launch_move: 'Platzwechsel', take_gap: 'zwischen Aufnahmen', white_balance_step: 'Weißabgleich in Schritten' },
  },
  papers: {
    title: 'Papiere', book: 'Das Flugbuch', bookWhat: 'Alles von diesen Seiten, gedruckt: Tagesplan, Klappen mit Skizzen und Karten, Ort, Akkus, Gefährdungsbeurteilung, Prüflisten, Vordrucke.', print: 'Buch drucken', printSlate: (s) => `nur ${s} drucken`, exports: 'Für die Werkzeuge anderer, in offenen Formaten:', checkData: 'Prüfung als Daten', dayData: 'Tag als Daten', phones: 'Telefone', invite: 'ein Telefon dazulassen', inviteLead: 'eine zweite Leitung dazulassen', joined: (n) => `${n || 'jemand'} ist dazugekommen`, qr: 'Kennwort zum Ablesen:', once: (role, until) => `Gilt einmal, als ${role}, bis ${until}.`,
    alone: 'Diese Seite antwortet nur auf diesem Rechner. Mit --share gestartet, lässt sie Telefone dazu.', permissions: 'Genehmigungen', status: 'Stand', cautions: 'Vorbehalte', checklists: 'Prüflisten für', tickInField: 'Abgehakt wird draußen, mit Kürzel und Zeit.',
  },
  trust: {
    first: 'Zum ersten Mal auf diesem Telefon?', how: 'Diesen Code ablesen, die Bescheinigung des Hauses holen und einrichten: dann hört niemand im Netz mit, und die Seite bleibt außer Reichweite auf dem Telefon.', code: 'Code zum Ablesen, für die Bescheinigung:',
    fingerprint: 'Fingerabdruck der Bescheinigung (SHA-256)', only: 'Nur einrichten, wenn der Fingerabdruck auf dem Telefon mit diesem übereinstimmt. Wenn nicht, steht jemand zwischen Telefon und Rechner: das Netz verlassen.', then: 'Dann mit dem Code darunter dazukommen.',
  },
  roles: { lead: 'Leitung', crew: 'Mannschaft' },
  log: {
    title: 'Logbuch', waiting: (n) => `${n} noch nicht im Buch`, initials: 'Kürzel', remark: 'Bemerkung', write: 'eintragen', empty: 'Noch ist nichts eingetragen.', when: 'wann', kind: 'Art', what: 'was', by: 'wer', onlyHere: 'nur auf diesem Gerät', refused: 'nicht angenommen', kept: 'liegt in', take: 'Aufnahme', circled: 'eingekreist',
    kinds: { remark: 'Bemerkung', take: 'Aufnahme', sortie: 'Einsatz', pack: 'Akku', incident: 'Vorfall', upkeep: 'Wartung', permit: 'Genehmigung', hours: 'Stunden', flown: 'Aufzeichnung', lesson: 'Lehre', strike: 'Streichung', practice: 'Übung' },
  },
  field: {
    inReach: 'Rechner in Reichweite', outOfReach: 'AUSSER REICHWEITE: Einträge bleiben hier und gehen später ab', waiting: (n) => `${n} zu senden`, refused: (n) => `${n} nicht angenommen, siehe Logbuch`, rehearsal: 'Kein Drehtag: es gilt die Stunde des Lineals,', keepOpen: 'Diese Seite offen lassen: dieser Browser behält sie nur über eine gesicherte Verbindung.',
    next: 'als Nächstes', chosen: 'außer der Reihe', in: (d) => `in ${d}`, since: (d) => `seit ${d}`, until: (t) => `Licht bis ${t}`, pack: 'Akku', then: 'danach', backToNext: 'zurück zur Nächsten', nothingNext: 'Mehr ist nicht geplant.',
    meter: 'Belichtungsmesser, in Blenden', less: 'eine Blende weniger', more: 'eine Blende mehr', lessThird: 'ein Drittel weniger', moreThird: 'ein Drittel mehr', needsLaptop: 'Dazu muss der Rechner in Reichweite sein.',
    take: 'Aufnahme', start: 'ab', stop: 'aus', takeNo: 'Aufnahme', notes: 'Notizen', circle: 'einkreisen: diese ist gut', weather: 'Wetter, wie es ist', wind: 'Wind', gust: 'Böen', temperature: 'Temperatur', whatFlies: 'was geht noch?', noStop: 'kein Halt gefunden', planningAid: 'Planungshilfe: unbekannt ist nicht sicher',
    holdUntil: 'Wetterpause bis', holdReplan: 'warten und neu planen', holdNote: 'Pause vermerken', checklists: 'Prüflisten', initials: 'Kürzel', packs: 'Akkus', scan: 'Akku ablesen', packUnknown: 'heute nicht gesehen', packSays: { on: 'am Gerät', landed: 'gelandet', charging: 'lädt', charged: 'geladen' },
  },
  logParts: { '': 'Buch', sorties: 'Flüge', ladder: 'Leiter', lessons: 'Lehren', reports: 'Berichte' },
  logPartsLabel: 'Teile des Logbuchs',
  sorties: {
    title: 'Flüge', none: 'Noch ist kein Flug eingetragen.', when: 'wann', aircraft: 'Fluggerät', pilot: 'Pilot', slates: 'Klappen', takes: 'Aufnahmen', recording: 'Aufzeichnung', notYet: 'noch keine', open: (s) => `Flug ${s} öffnen`, back: 'alle Flüge',
    log: 'Einen Flug eintragen', ref: 'Flug', rig: 'Fluggerät', pack: 'Akku', shotClass: 'Art der Aufnahme', date: 'Datum', takeOff: 'Start', landing: 'Landung', used: 'verbrauchte Wh', write: 'eintragen', wrong: 'Start und Landung werden gebraucht, in dieser Folge.', who: 'Zuerst die Initialen eintragen.',
    bring: 'Die Aufzeichnung einlesen', bringWhat: 'GPX, KML, KMZ, CSV, NMEA 0183 oder FIT. Die Datei wird Byte für Byte aufbewahrt.', file: 'Datei', send: 'einlesen', cancel: 'anhalten', sending: (p) => `sendet, ${p} %`, reading: (p) => `liest, ${p} %`, again: 'mit diesen Antworten noch einmal lesen',
    question: 'Die Datei lässt etwas offen', holds: 'enthält', column: 'Spalte', unit: 'Einheit', first: 'erste Zeilen', notHeld: 'nicht in der Datei', zone: 'Zone ihrer Zeiten', start: 'Beginn (UTC)', offset: 'zu ihrer Uhr hinzu', raise: 'zu ihren Höhen hinzu', optional: 'nur wenn man es besser weiß',
    kept: (n, from, to) => `Im Buch: ${n} Punkte, ${from} bis ${to}.`, repeat: 'Das Buch hatte sie schon.', clock: 'Uhr', found: 'Was die Datei von sich selbst sagt', original: 'das Original', shortBy: 'Zeit und Zone werden gebraucht',
  },
  review: {
    title: (s) => `Flug ${s}: geplant und geflogen`, pdf: 'diese Seite als PDF', loading: 'wird neben den Plan gelegt …', change: 'Was zu ändern ist', nothing: 'Nichts, was die Aufzeichnung zeigt. Was sie nicht enthält, steht unten als unbekannt.',
    fastest: 'am schnellsten', highest: 'am höchsten über Grund', clearance: 'kleinster Abstand', people: 'nächste Menschen', energy: 'verbraucht', ofPlanned: (p) => `${p} der Vorhersage`, wind: 'Wind aus der Abdrift', from: 'aus', map: 'Karte, geplant und geflogen', take: (s, n) => `Klappe ${s}, Aufnahme ${n}`,
    began: 'Beginn', afterCue: (s) => `${s} s nach dem eingetragenen Zeichen`, noCue: 'das Zeichen ist nicht eingetragen', rms: 'vom Plan, quadr. Mittel', worst: (d, t) => `am weitesten ${d} bei ${t} s`, across: 'quer, rechts +', along: 'längs, voraus +', up: 'darüber +', speed: 'Tempo, quadr. Mittel', aim: 'Bildausschnitt, quadr. Mittel', size: 'Größe im Bild', light: 'Licht', stops: (s) => `${s} Blenden vom Plan`, sunMoved: 'Sonne gewandert um',
    what: 'was', planned: 'geplant', flown: 'geflogen', difference: 'Unterschied', profiles: 'Verläufe', seconds: 'Sekunden der Aufnahme', deviation: 'Abstand vom Plan', height: 'Höhe über dem Meer', above: 'über Grund', events: 'Ereignisse', eventFrom: 'von', lasted: 'Dauer', eventWorst: 'am ärgsten', limit: 'Grenze', basis: 'Grundlage', noEvents: 'Keine bekannte Grenze wurde überschritten.', findings: 'Befunde',
    score: 'Als Übung werten:', scored: (s, n, p) => `Klappe ${s} Aufnahme ${n}: ${p}`, passed: { yes: 'bestanden', no: 'nicht bestanden', unknown: 'unbekannt' },
    things: { 'mean speed': 'mittleres Tempo', 'top speed': 'höchstes Tempo', 'highest above ground': 'am höchsten über Grund', 'lowest above ground': 'am tiefsten über Grund', 'least clearance': 'kleinster Abstand', 'nearest people': 'nächste Menschen', 'light on the subject': 'Licht auf dem Motiv', "sun's height": 'Sonnenhöhe', "sun's azimuth": 'Sonnenrichtung' },
  },
  ladder: {
    title: 'Leiter der Aufnahmen', of: 'Pilot', class: 'Art der Aufnahme', held: 'erreicht', flown: 'geflogen', last: 'zuletzt', passes: 'Übungen bestanden', lacks: 'fehlt', state: { yes: 'erreicht', no: 'noch nicht', unknown: 'unbekannt' }, never: 'nie', next: 'Als Nächstes zu üben', each: (d, s, a, p) => `jede innerhalb von ${d} vom Weg, ${s} vom Tempo${a}, bis zur Wertung ${p}`, aim: (a) => `, ${a} von der Richtung`,
    asked: 'Was dieser Dreh verlangt', nothingAsked: 'Nichts, was nicht erreicht ist.', place: 'Mitte offenen, ebenen Geländes', date: 'Tag', show: 'was würde geschrieben?', write: 'den Übungsdreh schreiben', written: (d) => `Geschrieben: ${d}`, byHand: 'Dasselbe von Hand:', ground: 'Was die Dateien von diesem Boden sagen', basis: 'Grundlage', none: 'Noch ist kein Pilot bekannt.', after: 'Fliegen, die Aufzeichnung einlesen, dann werten:', leadOnly: 'Übungsdrehs schreibt die Leitung.',
    classes: { trainer: 'Übungsgerät', 'wide and open': 'weit und offen', 'near objects': 'nahe an Dingen', 'between objects': 'zwischen Dingen', 'close to moving subjects': 'nahe an bewegten Motiven', 'two operators': 'zu zweit' },
  },
  lessons: {
    title: 'Was das Logbuch lehrt', what: 'was', about: 'von', old: 'alt', new: 'neu', interval: '95 % zwischen', cases: 'Fälle', planFor: 'neun von zehn innerhalb', stands: 'der alte Wert besteht', moved: 'der alte Wert liegt außerhalb', accept: 'annehmen', accepted: 'eingetragen', use: (v) => `mit ${v} planen`, inUse: (v) => `schon mit ${v} geplant`, tooFew: 'Noch nicht genug', none: 'keiner', leftOut: 'weggelassen', leadOnly: 'Die Leitung nimmt an.',
    names: { power_factor: 'verbrauchte zu vorhergesagter Energie', setup_time_s: 'Zeit zwischen Flügen', take_gap_s: 'Zeit zwischen Aufnahmen' },
  },
  entry: {
    title: 'Einen Eintrag schreiben', kind: 'über', write: 'eintragen', correct: 'berichtigen', strike: 'streichen', why: 'Grund', whyNeeded: 'Eine Berichtigung braucht ihren Grund.', save: 'Berichtigung eintragen', versions: (n) => `Fassung ${n}`, contested: 'zwei haben es berichtigt', needed: 'nötig', when: 'wann', leave: 'lassen', missing: 'Ein Bericht braucht meist mehr: „keine“ schreiben, wo es keine gab. Was nicht bekannt ist, bleibt leer.', yes: 'ja', no: 'nein',
    fields: { severity: 'Schwere', what: 'was geschah, der Reihe nach', place: 'Ort', aircraft: 'Fluggerät', pilot: 'Pilot', registration: 'Kennzeichen', certificate: 'Zeugnis des Piloten', phase: 'Flugabschnitt', weather: 'Wetter', wind_ms: 'Wind, m/s', light: 'Licht', height_m: 'Höhe über Grund, m', mass_kg: 'Abflugmasse, kg', lat_deg: 'Breite, Grad', lon_deg: 'Länge, Grad', injuries: 'Verletzungen', damage: 'Schäden', third_parties: 'Dritte', other_traffic: 'anderer Verkehr', actions: 'was sofort getan wurde', cause: 'Ursache, soweit bekannt', reported_to: 'gemeldet an', reference: 'Zeichen', sortie: 'Flug', pack: 'Akku', cycles: 'Ladungen', rated_ah: 'Nennwert, Ah', capacity_ah: 'gemessen, Ah', resistance_ohm: 'Widerstand, Ohm', temperature_k: 'Temperatur, K', method: 'wie gemessen', work: 'Arbeit', airframe_s: 'Betriebszeit, s', next_after_s: 'wieder fällig nach, s', next_by: 'wieder fällig bis', serviceable: 'zum Flug freigegeben', permit: 'Genehmigung', from: 'von', to: 'bis', kept: 'wie die Auflagen gehalten wurden', person: 'Person', role: 'Aufgabe', aircraft_class: 'Art des Fluggeräts', shot_class: 'Art der Aufnahme', flown_s: 'geflogen, s', last_flown: 'zuletzt geflogen', source: 'entnommen aus', notes: 'Bemerkungen', text: 'Text', slate: 'Klappe', take: 'Aufnahme', circled: 'umkringelt', card: 'Karte', clip: 'Clip', planned: 'geplant für', take_off: 'Start', landing: 'Landung', operator: 'Kamera', observer: 'Beobachter', slates: 'Klappen', permits: 'Genehmigungen', energy_planned_wh: 'geplante Energie, Wh', energy_used_wh: 'verbrauchte Energie, Wh', witnesses: 'Zeugen', shoot: 'Dreh' },
  },
  reports: { title: 'Berichte', what: { hours: 'Stunden je Person', aircraft: 'Stunden je Fluggerät', permits: 'Stunden je Genehmigung', upkeep: 'fällige Wartung', day: 'Tagesbericht' }, per: 'je', periods: { day: 'Tag', month: 'Monat', year: 'Jahr', all: 'alles' }, day: 'Tag', csv: 'als CSV', pdf: 'als PDF', empty: 'nichts im Logbuch' },
  health: { title: 'Gesundheit der Akkus', capacity: 'Kapazität', resistance: 'Widerstand', fade: 'Schwund je 100 Ladungen', retireAt: 'auszumustern bei Ladungen', retireBy: 'auszumustern bis', why: 'weshalb', rule: (c, r) => `Ausgemustert unter ${c} der Nennkapazität oder über dem ${r}-Fachen des ersten Widerstands: übliche Praxis, ohne Quelle. Die Vorhersage ist vorsichtig: einer von zwanzig Akkus wäre über der Grenze.` },
  answer: {
    title: 'Machbarkeit, bevor gebucht wird', from: 'Licht von', to: 'bis', lost: 'Tage, die das Wetter kostet', lostHint: 'etwa 30 %; leer: unbekannt', go: 'ausrechnen', working: (p) => `sucht das Licht, ${p} %`, stop: 'anhalten', pdf: 'drucken', slate: 'Klappe', verdict: 'Urteil', why: 'weshalb', mend: 'was es möglich machte', light: 'bestes Licht', best: 'Beste Tage', need: 'Gebraucht', days: (n) => (n === 1 ? 'ein Tag' : `${n} Tage`), weatherDays: (n) => `${n} Wettertage`, crew: 'Mannschaft', kit: 'Gerät', ask: 'Zu holende Genehmigungen', lead: 'braucht', rests: 'Worauf es beruht', unknowns: (n) => (n === 1 ? 'eine Grenze unbekannt' : `${n} Grenzen unbekannt`), withLight: 'mit Licht', without: 'ohne',
    verdicts: { 'as asked': 'wie verlangt', 'with a change': 'mit einer Änderung', 'not on these dates': 'nicht an diesen Tagen', 'not as asked': 'nicht wie verlangt' },
  },
  travel: { title: 'Reisepapiere', show: 'zeigen', print: 'drucken', case: 'Koffer', mass: 'Masse', least: 'mindestens', item: 'Stück', pieces: 'Anzahl', packs: 'Akkus auf dem Luftweg', class: 'wie', who: 'getragen von', list: 'Allgemeine Liste für vorübergehende Einfuhr', number: 'Nummer', value: 'Wert', origin: 'Herkunft', unknown: 'Masse nicht eingetragen' },
  bundle: { title: 'Für die Behörde', what: 'Ein Zip: Mappe, Räume als KML, Gefährdungsbeurteilung, Genehmigungen mit ihren Papieren, Geräteliste, Prüfsummen.', get: 'packen' },
  parts: { title: 'Teile der Mappe', cover: 'Deckblatt', day: 'Tag', site: 'Ort', slates: 'Klappen', packs: 'Akkus', radio: 'Funk', permissions: 'Genehmigungen', risk: 'Gefahren', emergency: 'Notfall', checklists: 'Prüflisten', survey: 'Begehung', forms: 'Vordrucke', print: 'diese drucken', paper: 'Papier' },
  film: {
    title: 'Die Aufnahme, gezeichnet', what: 'Jedes Bild der Klappe wie geplant, auf diesem Rechner gezeichnet.', form: 'als', forms: { mp4: 'Film (MP4)', apng: 'bewegtes Bild (APNG)', frames: 'Einzelbilder (Zip)' }, size: 'größtes Maß', burn: 'Klappe und Zeitcode im Bild', thirds: 'Drittel', safe: 'sichere Ränder', box: 'Motiv umranden', smear: 'Wischer', draw: (s) => `${s} zeichnen`, at: (t) => `wie um ${t}`, drawing: (s, a, b) => `zeichnet ${s}: Bild ${a} von ${b}`, cancel: 'anhalten', cancelled: 'Angehalten; nichts davon bleibt.', failed: 'Es ließ sich nicht zeichnen', get: (s) => `den Film von ${s} behalten`, stops: 'So wie gezeichnet nicht zu fliegen', leadOnly: 'Filme zeichnet die Leitung.',
  },
  lightRoom: {
    from: 'aus', onSubject: 'auf dem Motiv', down: 'die Sonne ist unten', spans: { 'golden hour': 'goldene Stunde', 'blue hour': 'blaue Stunde' }, conditions: 'Was zugleich stimmen muss', condition: 'Bedingung', notNow: 'jetzt nicht', allRight: 'alles, was die Stunde bestimmt, stimmt', notRight: 'stimmt nicht', lightOnly: 'Licht und Wetter allein', hatched: 'Schraffiert: stimmt nicht. Gedreht werden kann, wo keine Bahn schraffiert ist. Ein Klick stellt die Stunde.',
  },
  site: {
    view: 'Ansicht', plan: 'Karte', relief: 'Relief', reliefKeys: 'Relief des Ortes: Pfeiltasten drehen, plus und minus gehen näher und weiter weg', noPicture: 'dieser Browser kann das Bild nicht zeichnen', drawing: 'wird gezeichnet …', key: 'was die Linien bedeuten', path: 'Weg von', permitted: 'erlaubt', ask: 'genehmigungspflichtig', closed: 'gesperrt', people: 'Menschen', wire: 'Leitung', launch: 'Startplatz', way: 'Weg eines bewegten Motivs', ownMap: 'eigene Karte darunter:', heights: 'Höhen', cell: 'Raster von', things: 'Was hier steht und liegt', kind: 'Art', name: 'Name', height: 'Höhe', status: 'Stand',
  },
  safety: {
    title: 'Sicherheitsnachweis', working: 'wird beim Öffnen gerechnet …', hour: 'Zur Stunde des besten Lichts, was auch das Lineal zeigt.', thither: 'das Lineal dorthin stellen',
    rules: 'An den Regeln gemessen', met: (n) => `${n} erfüllt`, inside: 'In seinen Räumen', away: 'entfernt', between: (a, b) => `von ${a} bis ${b} der Aufnahme`,
    volumes: { 'flight geography': 'im Flugraum', 'contingency volume': 'im Reserveraum', 'ground risk buffer': 'im Bodenrisikopuffer' },
    wrong: 'Wenn etwas schiefgeht', lostLink: 'Funkverbindung weg', clears: (v) => `bleibt ${v} über allem`, landing: (spot, t, left) => `am schlechtesten bei ${t} der Aufnahme: ${spot}, ${left} % übrig bei der Landung`, flyAway: 'Davonfliegen', reach: (km, t) => `bis ${km} km in ${t}`,
    risks: 'Gefährdungen', hazard: 'Gefährdung', before: 'vorher', after: 'mit Maßnahmen', controls: 'Maßnahmen', missing: 'nicht bekannt',
    layers: 'Räume, Stürze und Heimweg von', layersKey: { 'contingency volume': 'Reserveraum', 'ground risk buffer': 'Bodenrisikopuffer', 'fall footprint': 'wohin es stürzte', 'lost-link route': 'Heimweg ohne Funk', pilot: 'Pilot' },
  },
  profile: {
    title: 'Zahlen über die Aufnahme', table: 'dasselbe in Zahlen, Sekunde für Sekunde', second: 'Sekunde', past: 'jenseits der Grenze', noLimit: 'keine Grenze bekannt', gaps: 'stellenweise unbekannt',
    of: { above_ground: 'über Grund', nearest: 'zum nächsten Ding', speed: 'Tempo', acceleration: 'Beschleunigung', from_pilot: 'vom Piloten', moving_subject: 'zum bewegten Motiv' },
    atLeast: (v) => `mindestens ${v}`, atMost: (v) => `höchstens ${v}`, from: (v, s) => `am wenigsten ${v} bei ${s} s`, to: (v, s) => `am meisten ${v} bei ${s} s`,
    note: 'Schraffiert: jenseits einer Grenze. Eine weit entfernte Grenze wird gesagt und nicht gezeichnet. Geplant, nicht geflogen: Wind und der eigene Fehler des Fluggeräts kommen hinzu.',
  },
  frame: {
    through: 'durch das', frameNew: 'von hier aus eine neue Klappe einrichten', newSlate: 'Neue Klappe', write: 'eintragen:', leave: 'lassen', untitled: 'Ohne Titel', picture: 'das Bild durch das Objektiv', noPicture: 'dieser Browser kann das Bild nicht zeichnen', unsolved: 'Die Bewegung ist so nicht zu fliegen; das Fluggerät hängt über dem Startplatz', run: 'ab', hold: 'halt', time: 'Zeit der Aufnahme', thirds: 'Drittel', horizon: 'Horizont', subject: 'Motiv', move: 'Bewegung', speed: 'Tempo', aim: 'Kamera blickt', share: 'Motiv füllt', out: 'nicht im Bild', smear: 'Wischer je Bild', pilotSees: 'Auge des Piloten', sees: 'sieht es', pilotBlind: (by) => `sieht es nicht${by ? ': ' + by : ''}`, wayOut: 'Ausweg', ways: (stop, climb) => `hält: ${stop}; steigt weg: ${climb}`, answers: { yes: 'frei', no: 'nicht frei', unknown: 'unbekannt' }, inTheWay: 'im Weg', nothing: 'nichts', seen: 'im Bild', note: 'Gezeichnet aus Höhenraster und Merkmalen des Ortes: was sie nicht enthalten, fehlt. Nicht um Abstände nach Auge zu beurteilen.',
  },
}
