/** Keeps the screen on while glue is open, where the device offers that. */

import { useEffect } from "preact/hooks";

export function useAwake(): void {
  useEffect(() => {
    let lock: WakeLockSentinel | null = null;
    let left = false;
    const ask = () => {
      if (document.visibilityState !== "visible" || !("wakeLock" in navigator)) return;
      navigator.wakeLock.request("screen").then((given) => {
        if (left) void given.release();
        else lock = given;
      }, () => { /* Refused, for example on a low battery: the screen then goes dark as ever. */ });
    };
    ask();
    document.addEventListener("visibilitychange", ask);
    return () => {
      left = true;
      document.removeEventListener("visibilitychange", ask);
      void lock?.release();
    };
  }, []);
}
