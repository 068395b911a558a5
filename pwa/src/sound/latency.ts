/**
 * The latency of the loop: how much later than the page reckons a click is heard, answered with a key, and the key's
 * time comes back. Loudspeaker, ear, hand, keyboard and cable are all in it, since no part can be had alone.
 *
 * Method: the taps nearest to the clicks, each against its own click; their median, since one tap in eight may be
 * anywhere; refused where the median distance from that median is wide. People tap some tens of milliseconds
 * before a click (known of tapping to a metronome; from memory), so that a quick device measures a little below 0.
 */
import { signal } from "@preact/signals";

export type Measured = { state: "measured"; ms: number } | { state: "too-few" } | { state: "scattered" };

/** A tap belongs to a click from this much before it to this much after it; delays are longer than haste. */
const BEFORE_MS = 250;
const AFTER_MS = 500;
const FEWEST_TAPS = 6;
/** Half of the taps lie within this of their median, or nothing is believed. */
const WIDEST_MS = 40;

/** The latency that taps to clicks show; all times are milliseconds of the page's clock. */
export function loopLatency(clicks: readonly number[], taps: readonly number[]): Measured {
  const offsets = clicks.flatMap((click) => {
    const near = taps.map((tap) => tap - click).filter((ms) => ms >= -BEFORE_MS && ms < AFTER_MS);
    return near.length > 0 ? [near.reduce((a, b) => (Math.abs(b) < Math.abs(a) ? b : a))] : [];
  });
  if (offsets.length < FEWEST_TAPS) return { state: "too-few" };
  const middle = median(offsets);
  const spread = median(offsets.map((ms) => Math.abs(ms - middle)));
  return spread > WIDEST_MS ? { state: "scattered" } : { state: "measured", ms: Math.round(middle) };
}

/** The middle value; NaN of nothing. */
export function median(values: readonly number[]): number {
  const sorted = values.toSorted((a, b) => a - b);
  const half = sorted.length / 2;
  const pair = [sorted[Math.ceil(half) - 1], sorted[Math.floor(half)]] as [number, number];
  return (pair[0] + pair[1]) / 2;
}

const KEPT = "counterpane.latency";

/** What was measured on this device, in milliseconds; null before. */
export const latencyMs = signal(kept());

export function keepLatency(ms: number | null): void {
  if (ms === null) localStorage.removeItem(KEPT);
  else localStorage.setItem(KEPT, String(ms));
  latencyMs.value = ms;
}

/** How much later than reckoned sounds are heard; what a hand does before the click is none of the device's. */
export function soundLagMs(): number {
  return Math.max(0, latencyMs.value ?? 0);
}

function kept(): number | null {
  const found = Number.parseFloat(localStorage.getItem(KEPT) ?? "");
  return Number.isFinite(found) ? found : null;
}
