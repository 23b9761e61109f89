// Reads Standard MIDI Files with an independent library: each line of standard
// input is a file in base64. For each it prints one line of JSON: the events that
// matter with their ticks, and the file as the library writes it again, with
// running status, in base64.
import midi from 'midi-file';
import readline from 'node:readline';

const what = (e) => {
  switch (e.type) {
    case 'setTempo': return `tempo ${e.microsecondsPerBeat}`;
    case 'timeSignature': return `meter ${e.numerator}/${e.denominator}`;
    case 'marker': return `marker ${Buffer.from(e.text, 'latin1').toString('utf8')}`;
    case 'programChange': return `program ${e.programNumber} on ${e.channel + 1}`;
    case 'noteOn': return `note ${e.noteNumber} on ${e.channel + 1}`;
    case 'endOfTrack': return 'end';
  }
  return null;
};

readline.createInterface({ input: process.stdin }).on('line', (line) => {
  const file = midi.parseMidi(Buffer.from(line, 'base64'));
  const tracks = file.tracks.map((track) => {
    let tick = 0;
    const list = [];
    for (const e of track) {
      tick += e.deltaTime;
      const words = what(e);
      if (words) list.push(`${tick} ${words}`);
    }
    return list;
  });
  const again = Buffer.from(midi.writeMidi(file, { running: true })).toString('base64');
  console.log(JSON.stringify({ format: file.header.format, division: file.header.ticksPerBeat, tracks, again }));
});
