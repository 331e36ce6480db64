/** A number with large minus and plus beside it; it can also be typed, with "." or ",". */
import { useId } from "preact/hooks";

import { unitOf } from "../format/units.ts";
import { pressed } from "../model/draft.ts";
import { liveText } from "../text/en.ts";

export interface WholeFieldProps {
  readonly label: string;
  /** The field's name: its ending says the unit. */
  readonly name: string;
  readonly typed: string;
  /** Where the first press starts when nothing is typed, in base units. */
  readonly start: number;
  readonly refused?: string | undefined;
  readonly hint?: string | undefined;
  readonly onType: (typed: string) => void;
  readonly onEnter?: (() => void) | undefined;
}

export function WholeField(props: WholeFieldProps) {
  const { label, name, typed, start, refused, hint, onType } = props;
  const id = useId();
  const unit = unitOf(name).word;
  return (
    <div class={`whole ${refused === undefined ? "" : "refused"}`}>
      <label for={id}>
        {label}
        {unit === "" ? "" : `, ${unit}`}
        {hint === undefined ? null : <small>{hint}</small>}
      </label>
      <div class="whole-row">
        <button
          type="button"
          class="slab mid"
          aria-label={liveText.editor.less(label)}
          onClick={() => onType(pressed(typed, name, -1, start))}
        >
          {"\u2212"}
        </button>
        <input
          id={id}
          type="text"
          inputMode="decimal"
          autocomplete="off"
          value={typed}
          aria-invalid={refused !== undefined}
          {...(refused === undefined ? {} : { "aria-describedby": `${id}-refused` })}
          onInput={(event) => onType(event.currentTarget.value)}
          onKeyDown={(event) => {
            if (event.key === "Enter") props.onEnter?.();
          }}
        />
        <button
          type="button"
          class="slab mid far-round"
          aria-label={liveText.editor.more(label)}
          onClick={() => onType(pressed(typed, name, 1, start))}
        >
          +
        </button>
      </div>
      {refused === undefined ? null : (
        <p id={`${id}-refused`} class="refusal" role="alert">
          {refused}
        </p>
      )}
    </div>
  );
}
