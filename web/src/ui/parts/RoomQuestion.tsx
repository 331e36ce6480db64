/** The patient comes in when the case is opened, and leaves when sign-out is through; then the surgeon signs. */
import { act, room, tapNow } from "../acts.ts";
import { to } from "../route.ts";
import { liveText } from "../text/en.ts";
import { CommonSlab, LinkSlab, Slab } from "./Slab.tsx";

export interface RoomQuestionProps {
  readonly caseId: string;
  readonly moment: "patient_in" | "patient_out";
  readonly onPostpone: () => void;
}

export function RoomQuestion({ caseId, moment, onPostpone }: RoomQuestionProps) {
  const isIn = moment === "patient_in";
  const { yes, notYet, outYes, outNotYet, inDone, outDone } = liveText.patient;
  return (
    <nav class="answers" aria-label={liveText.answers}>
      <CommonSlab
        label={isIn ? yes : outYes}
        onPress={() => void act(room(caseId, moment, tapNow()), liveText.recorded(isIn ? inDone : outDone))}
      />
      <Slab label={isIn ? notYet : outNotYet} look="pair half" onPress={onPostpone} />
    </nav>
  );
}

export function EndSlabs({ caseId }: { readonly caseId: string }) {
  return (
    <nav class="answers" aria-label={liveText.answers}>
      <LinkSlab href={to.review(caseId)} look="go" strung>
        {liveText.end.go}
      </LinkSlab>
    </nav>
  );
}
