/** Fingers, mouse and keys on the work: turn, move, closer, touch. */

export interface Handles {
  /** Turn about what is looked at, CSS px. */
  turn(dx: number, dy: number): void;
  /** Move what is looked at, CSS px. */
  move(dx: number, dy: number): void;
  /** Closer (below 1) or farther, at a place in the picture. */
  closer(factor: number, x: number, y: number): void;
  touch(x: number, y: number, finger: boolean): void;
  twice(x: number, y: number): void;
  fit(): void;
}

/** A press that goes no farther than this is a touch, CSS px; two within this time are one twice, ms. */
const STILL = 9;
const TWICE = 330;
const KEY_TURN = 40;

interface Finger { x: number; y: number; startX: number; startY: number; pan: boolean }

/** Follow an element; returns what stops following. */
export function follow(element: HTMLElement, handles: Handles): () => void {
  const fingers = new Map<number, Finger>();
  let moved = false;
  let last = { x: 0, y: 0, at: -Infinity };
  const spot = (event: PointerEvent | WheelEvent): [number, number] => {
    const box = element.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };
  const down = (event: PointerEvent): void => {
    const [x, y] = spot(event);
    if (fingers.size === 0) moved = false; else moved = true;
    fingers.set(event.pointerId, { x, y, startX: x, startY: y, pan: event.button > 0 || event.shiftKey });
    element.setPointerCapture(event.pointerId);
  };
  const move = (event: PointerEvent): void => {
    const finger = fingers.get(event.pointerId);
    if (!finger) return;
    const [x, y] = spot(event);
    const [dx, dy] = [x - finger.x, y - finger.y];
    if (Math.hypot(x - finger.startX, y - finger.startY) > STILL) moved = true;
    if (fingers.size >= 2) pinch(fingers, event.pointerId, x, y, handles);
    else if (moved && finger.pan) handles.move(dx, dy);
    else if (moved) handles.turn(dx, dy);
    finger.x = x;
    finger.y = y;
  };
  const up = (event: PointerEvent): void => {
    const finger = fingers.get(event.pointerId);
    fingers.delete(event.pointerId);
    if (!finger || event.type === "pointercancel" || moved || finger.pan) return;
    const now = event.timeStamp;
    if (now - last.at < TWICE && Math.hypot(finger.x - last.x, finger.y - last.y) < 3 * STILL) {
      handles.twice(finger.x, finger.y);
      last = { x: 0, y: 0, at: -Infinity };
    } else {
      handles.touch(finger.x, finger.y, event.pointerType !== "mouse");
      last = { x: finger.x, y: finger.y, at: now };
    }
  };
  const wheel = (event: WheelEvent): void => {
    event.preventDefault();
    const step = event.deltaMode === 1 ? event.deltaY * 30 : event.deltaY;
    handles.closer(Math.exp(Math.max(-200, Math.min(200, step)) * 0.0016), ...spot(event));
  };
  const key = (event: KeyboardEvent): void => {
    if (event.ctrlKey || event.metaKey || event.altKey || !pressed(event.key, element, handles)) return;
    event.preventDefault();
    event.stopPropagation();
  };
  const menu = (event: Event): void => { event.preventDefault(); };
  const all: [string, EventListener, AddEventListenerOptions?][] = [
    ["pointerdown", down as EventListener], ["pointermove", move as EventListener], ["pointerup", up as EventListener],
    ["pointercancel", up as EventListener], ["wheel", wheel as EventListener, { passive: false }],
    ["keydown", key as EventListener], ["contextmenu", menu],
  ];
  for (const [name, does, how] of all) element.addEventListener(name, does, how);
  return () => { for (const [name, does] of all) element.removeEventListener(name, does); };
}

/** Two fingers: what lies between them goes with them, and closer as they part. */
function pinch(fingers: Map<number, Finger>, id: number, x: number, y: number, handles: Handles): void {
  const own = fingers.get(id)!;
  const other = [...fingers].find(([k]) => k !== id)![1];
  const before = Math.hypot(own.x - other.x, own.y - other.y);
  const after = Math.hypot(x - other.x, y - other.y);
  handles.move((x - own.x) / 2, (y - own.y) / 2);
  if (before > 1 && after > 1) handles.closer(before / after, (x + other.x) / 2, (y + other.y) / 2);
}

/** Carry out a key; false where it is none of the work's. */
function pressed(key: string, element: HTMLElement, handles: Handles): boolean {
  const turns: Record<string, [number, number]> = {
    ArrowLeft: [KEY_TURN, 0], ArrowRight: [-KEY_TURN, 0], ArrowUp: [0, KEY_TURN], ArrowDown: [0, -KEY_TURN],
  };
  const [x, y] = [element.clientWidth / 2, element.clientHeight / 2];
  if (turns[key]) handles.turn(...turns[key]);
  else if (key === "+" || key === "=") handles.closer(0.8, x, y);
  else if (key === "-") handles.closer(1.25, x, y);
  else if (key === "0" || key === "f" || key === "F") handles.fit();
  else return false;
  return true;
}
