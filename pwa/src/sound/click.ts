/** The metronome's sound: a short tap, higher and louder on the first beat of a measure. */

const SHAPES = {
  measure: { hertz: 1760, gain: 0.5 },
  beat: { hertz: 1175, gain: 0.35 },
  inner: { hertz: 880, gain: 0.15 },
} as const;

const LASTS = 0.06;

export function click(
  context: BaseAudioContext,
  destination: AudioNode,
  at: number,
  weight: keyof typeof SHAPES,
): void {
  const { hertz, gain } = SHAPES[weight];
  const oscillator = new OscillatorNode(context, { type: "triangle", frequency: hertz });
  const envelope = new GainNode(context, { gain: 0 });
  envelope.gain.setValueAtTime(gain, at);
  envelope.gain.exponentialRampToValueAtTime(0.001, at + LASTS);
  oscillator.connect(envelope).connect(destination);
  oscillator.start(at);
  oscillator.stop(at + LASTS);
}
