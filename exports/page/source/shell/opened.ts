/** Opening a card in the panel. */

import { useEffect, useRef } from "preact/hooks";
import type { RefObject } from "preact";

/** Return what the heading of a card wants as its ref: when the card opens, the panel rolls to its head, and the heading
 * has the focus. */
export function useOpened(): RefObject<HTMLHeadingElement | null> {
  const heading = useRef<HTMLHeadingElement>(null);
  useEffect(() => {
    const card = heading.current?.closest("article");
    const panel = card?.closest(".panel");
    if (card && panel) {
      const edge = panel.getBoundingClientRect().top + parseFloat(getComputedStyle(panel).paddingTop);
      panel.scrollTop += card.getBoundingClientRect().top - edge;
    }
    const top = heading.current?.getBoundingClientRect().top ?? 0;
    heading.current?.focus({ preventScroll: top >= 0 && top < innerHeight * 0.8 });
  }, []);
  return heading;
}
