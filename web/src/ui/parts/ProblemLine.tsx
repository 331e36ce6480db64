/** The last thing that could not be done, in words, until the next one is done. */
import { problem } from "../acts.ts";

export function ProblemLine() {
  return problem.value === null ? null : (
    <p class="problem" role="alert">
      {problem.value}
    </p>
  );
}
