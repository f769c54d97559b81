/** The few signs we draw: a finding by its severity, hands, forward, back, play, pause, done. Colour is never the only sign. */

type Severity = "stop" | "warn" | "note";

const SHAPES: Record<Severity, string> = {
  stop: "M7 1h10l6 6v10l-6 6H7l-6-6V7z",
  warn: "M12 1.5 23 21.5H1z",
  note: "M12 1a11 11 0 1 1 0 22 11 11 0 0 1 0-22z",
};

/** A finding's sign: an eight-sided, a three-sided or a round plate with a stroke on it. */
export function Severity({ is }: { is: Severity }) {
  return (
    <svg class={`sign ${is}`} viewBox="0 0 24 24" aria-hidden="true" focusable="false">
      <path class="plate" d={SHAPES[is]} />
      {is === "note" ? <path class="stroke" d="M12 10.5v7M12 6v.4" /> : <path class="stroke" d="M12 8v6.5M12 18v.4" />}
    </svg>
  );
}

const DRAWN = {
  back: "M15 4 6 12l9 8",
  next: "M9 4l9 8-9 8",
  play: "M7 4.5 19.5 12 7 19.5z",
  pause: "M8 4.5v15M16 4.5v15",
  done: "M4 13l5.5 6L20 5.5",
};

export function Stroke({ is }: { is: keyof typeof DRAWN }) {
  return (
    <svg class="stroked" viewBox="0 0 24 24" aria-hidden="true" focusable="false"><path d={DRAWN[is]} /></svg>
  );
}
