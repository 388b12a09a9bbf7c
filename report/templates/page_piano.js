// The piano of the written notes: one strip of sampled notes, the nearest played faster or slower.
// Gives (midi, level, when, seconds, output) -> the sounding source, once the strip is decoded.
const pianoFor = async (context) => {
  const { pitches, slot, lead, mp3 } = JSON.parse(document.getElementById("piano").textContent);
  const bytes = Uint8Array.from(atob(mp3), (char) => char.charCodeAt(0));
  const strip = await context.decodeAudioData(bytes.buffer);
  // Some decoders leave the encoder's delay in front: the first note says how much.
  const start = strip.getChannelData(0).subarray(0, Math.round((lead + 0.2) * strip.sampleRate));
  const peak = start.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0);
  const first = start.findIndex((sample) => Math.abs(sample) > 0.1 * peak) / strip.sampleRate;
  const delay = Math.max(first - lead - 0.005, 0);
  const nearest = (midi) => pitches.reduce((best, pitch, i) => (
    Math.abs(pitch - midi) < Math.abs(pitches[best] - midi) ? i : best), 0);
  return (midi, level, when, seconds, output) => {
    const zone = nearest(midi);
    const source = new AudioBufferSourceNode(context, {
      buffer: strip, playbackRate: 2 ** ((midi - pitches[zone]) / 12),
    });
    const gain = new GainNode(context, { gain: level });
    gain.gain.setTargetAtTime(0, when + seconds, 0.06);
    source.connect(gain).connect(output);
    source.start(when, zone * slot + lead + delay, slot - lead);
    source.stop(when + seconds + 0.5);
    return source;
  };
};
