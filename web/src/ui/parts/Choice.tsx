/** One question with slabs for its answers: one may be chosen (`pressed`), none is chosen before it is tapped. */
import { useId } from "preact/hooks";

export interface Choice<T> {
  readonly value: T;
  readonly label: string;
}

export interface ChoiceProps<T> {
  readonly question: string;
  readonly choices: readonly Choice<T>[];
  readonly chosen: readonly T[];
  readonly onChoose: (value: T) => void;
  readonly look?: string;
  readonly hint?: string | undefined;
  /** The question stands left of its answers where there is room. */
  readonly isBeside?: boolean;
}

export function ChoiceRow<T>({
  question,
  choices,
  chosen,
  onChoose,
  look = "",
  hint,
  isBeside = false,
}: ChoiceProps<T>) {
  const id = useId();
  return (
    <div class={isBeside ? "choice beside" : "choice"} role="group" aria-labelledby={id}>
      <p id={id} class="choice-question">
        {question}
        {hint === undefined ? null : <small>{hint}</small>}
      </p>
      <div class="slabs narrow">
        {choices.map(({ value, label }) => (
          <button
            key={label}
            type="button"
            class={`slab mid ${look}`}
            aria-pressed={chosen.includes(value)}
            onClick={() => onChoose(value)}
          >
            <span>{label}</span>
          </button>
        ))}
      </div>
    </div>
  );
}
