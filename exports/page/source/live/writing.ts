/** Numbers on their way into the file. */

/** What the server says to a changed number. */
export type Answer =
  | { is: "written"; text: string }
  | { is: "outdated"; said: string; text: string | null }
  | { is: "refused"; said: string; accepted: string };

/** Asks for a number to be written back: what the page showed, and what it is to be. */
export async function write(key: string, was: string, text: string): Promise<Answer> {
  try {
    const answer = await fetch("numbers", {
      method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ key, was, text }),
    });
    const told = await answer.json() as { text?: string | null; said?: string; accepted?: string };
    if (answer.ok && told.said === undefined) return { is: "written", text: told.text ?? text };
    if (answer.status === 409) return { is: "outdated", said: told.said ?? "", text: told.text ?? null };
    return { is: "refused", said: told.said ?? "not taken", accepted: told.accepted ?? "" };
  } catch {
    return { is: "refused", said: "there is no answer: dryfit walk has ended", accepted: "" };
  }
}
