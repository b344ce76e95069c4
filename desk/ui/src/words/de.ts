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
  roles: { lead: 'Leitung', crew: 'Mannschaft' },
  log: {
    title: 'Logbuch', waiting: (n) => `${n} noch nicht im Buch`, initials: 'Kürzel', remark: 'Bemerkung', write: 'eintragen', empty: 'Noch ist nichts eingetragen.', when: 'wann', kind: 'Art', what: 'was', by: 'wer', onlyHere: 'nur auf diesem Gerät', refused: 'nicht angenommen', kept: 'liegt in', take: 'Aufnahme', circled: 'eingekreist',
    kinds: { remark: 'Bemerkung', take: 'Aufnahme', sortie: 'Einsatz', pack: 'Akku', incident: 'Vorfall', upkeep: 'Wartung', permit: 'Genehmigung', hours: 'Stunden', flown: 'Aufzeichnung', lesson: 'Lehre', strike: 'Streichung' },
  },
  field: {
    inReach: 'Rechner in Reichweite', outOfReach: 'AUSSER REICHWEITE: Einträge bleiben hier und gehen später ab', waiting: (n) => `${n} zu senden`, refused: (n) => `${n} nicht angenommen, siehe Logbuch`, rehearsal: 'Kein Drehtag: es gilt die Stunde des Lineals,', keepOpen: 'Diese Seite offen lassen: dieser Browser behält sie nur über eine gesicherte Verbindung.',
    next: 'als Nächstes', chosen: 'außer der Reihe', in: (d) => `in ${d}`, since: (d) => `seit ${d}`, until: (t) => `Licht bis ${t}`, pack: 'Akku', then: 'danach', backToNext: 'zurück zur Nächsten', nothingNext: 'Mehr ist nicht geplant.',
    meter: 'Belichtungsmesser, in Blenden', less: 'eine Blende weniger', more: 'eine Blende mehr', lessThird: 'ein Drittel weniger', moreThird: 'ein Drittel mehr', needsLaptop: 'Dazu muss der Rechner in Reichweite sein.',
    take: 'Aufnahme', start: 'ab', stop: 'aus', takeNo: 'Aufnahme', notes: 'Notizen', circle: 'einkreisen: diese ist gut', weather: 'Wetter, wie es ist', wind: 'Wind', gust: 'Böen', temperature: 'Temperatur', whatFlies: 'was geht noch?', noStop: 'kein Halt gefunden', planningAid: 'Planungshilfe: unbekannt ist nicht sicher',
    holdUntil: 'Wetterpause bis', holdReplan: 'warten und neu planen', holdNote: 'Pause vermerken', checklists: 'Prüflisten', initials: 'Kürzel', packs: 'Akkus', scan: 'Akku ablesen', packUnknown: 'heute nicht gesehen', packSays: { on: 'am Gerät', landed: 'gelandet', charging: 'lädt', charged: 'geladen' },
  },
  lightRoom: {
    from: 'aus', onSubject: 'auf dem Motiv', down: 'die Sonne ist unten', spans: { 'golden hour': 'goldene Stunde', 'blue hour': 'blaue Stunde' }, conditions: 'Was zugleich stimmen muss', condition: 'Bedingung', notNow: 'jetzt nicht', allRight: 'alles, was die Stunde bestimmt, stimmt', notRight: 'stimmt nicht', lightOnly: 'Licht und Wetter allein', hatched: 'Schraffiert: stimmt nicht. Gedreht werden kann, wo keine Bahn schraffiert ist. Ein Klick stellt die Stunde.',
  },
  site: {
    view: 'Ansicht', plan: 'Karte', relief: 'Relief', reliefKeys: 'Relief des Ortes: Pfeiltasten drehen, plus und minus gehen näher und weiter weg', noPicture: 'dieser Browser kann das Bild nicht zeichnen', drawing: 'wird gezeichnet …', key: 'was die Linien bedeuten', path: 'Weg von', permitted: 'erlaubt', ask: 'genehmigungspflichtig', closed: 'gesperrt', people: 'Menschen', wire: 'Leitung', launch: 'Startplatz', way: 'Weg eines bewegten Motivs', ownMap: 'eigene Karte darunter:', heights: 'Höhen', cell: 'Raster von', things: 'Was hier steht und liegt', kind: 'Art', name: 'Name', height: 'Höhe', status: 'Stand',
  },
  frame: {
    through: 'durch das', frameNew: 'von hier aus eine neue Klappe einrichten', newSlate: 'Neue Klappe', write: 'eintragen:', leave: 'lassen', untitled: 'Ohne Titel', picture: 'das Bild durch das Objektiv', noPicture: 'dieser Browser kann das Bild nicht zeichnen', unsolved: 'Die Bewegung ist so nicht zu fliegen; das Fluggerät hängt über dem Startplatz', run: 'ab', hold: 'halt', time: 'Zeit der Aufnahme', thirds: 'Drittel', horizon: 'Horizont', subject: 'Motiv', move: 'Bewegung', speed: 'Tempo', aim: 'Kamera blickt', share: 'Motiv füllt', out: 'nicht im Bild', smear: 'Wischer je Bild', nearest: 'nächstes Ding', inTheWay: 'im Weg', nothing: 'nichts', seen: 'im Bild', note: 'Gezeichnet aus Höhenraster und Merkmalen des Ortes: was sie nicht enthalten, fehlt. Nicht um Abstände nach Auge zu beurteilen.',
  },
}
