/** A day as a strip of cloth, as long as its minutes: woven where an instrument heard it, basted where it did not. */

/** `asked` minutes are the full length; more does not grow further. */
export function DayStrip({ done, alone, asked }: { done: number; alone: number; asked: number }) {
  const full = Math.max(asked, 1);
  const share = (minutes: number) => `${(100 * Math.min(minutes, full)) / full}%`;
  return (
    <svg class="day-strip" aria-hidden="true" focusable="false">
      <rect class="day-room" width="100%" height="100%" />
      <rect class="day-done" width={share(done)} height="100%" />
      <rect width={share(done - alone)} height="100%" fill="url(#cloth-woven-both)" />
      <rect x={share(done - alone)} width={share(alone)} height="100%" fill="url(#cloth-basted-both)" />
    </svg>
  );
}
