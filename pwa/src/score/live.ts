/** Marks that move while playing: classes put on notes directly, since a render for every key would be too slow. */

export class LiveMarks {
  private now: Element[] = [];
  private readonly played = new Set<Element>();
  private system: Element | null = null;

  constructor(
    private readonly holder: HTMLElement,
    private readonly calm: boolean = matchMedia("(prefers-reduced-motion: reduce)").matches,
  ) {}

  /** These notes come next; the page follows to their system. */
  next(ids: Iterable<string>): void {
    for (const note of this.now) note.classList.remove("marked", "mark-now");
    this.now = [...ids].flatMap((id) => this.find(id));
    for (const note of this.now) note.classList.add("marked", "mark-now");
    this.follow(this.now[0]);
  }

  /** These notes were just played. */
  mark(ids: Iterable<string>): void {
    for (const id of ids) {
      for (const note of this.find(id)) {
        note.classList.add("marked", "mark-played");
        this.played.add(note);
      }
    }
  }

  clear(): void {
    this.next([]);
    for (const note of this.played) note.classList.remove("marked", "mark-played");
    this.played.clear();
    this.system = null;
  }

  private find(id: string): Element[] {
    const note = this.holder.querySelector(`[id="${CSS.escape(id)}"]`);
    return note ? [note] : [];
  }

  /** Scrolls only when the music moves on to another system, so that the eye is not pulled at every note. */
  private follow(note: Element | undefined): void {
    const system = note?.closest(".system");
    if (!system || system === this.system) return;
    this.system = system;
    system.scrollIntoView({ block: "center", behavior: this.calm ? "instant" : "smooth" });
  }
}
