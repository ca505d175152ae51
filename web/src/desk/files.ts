// A place to drop files on, or to choose them with: the same for boundaries and for tracks.
import { h, on } from "./dom";
import { t } from "./words";

export function fileField(id: string, label: string, accept: string, several: boolean, given: (files: File[]) => void): HTMLElement {
  const field = h("input", { id, type: "file", accept: accept || null, multiple: several });
  const box = h("div", { class: "drop" }, h("label", { for: id }, label), field, h("p", {}, several ? t.files.dropSeveral : t.files.drop));
  on(field, {
    change: () => {
      given([...(field.files ?? [])]);
      field.value = ""; // the same file can be given again
    },
  });
  return on(box, {
    dragover: (event) => {
      event.preventDefault();
      box.classList.add("over");
    },
    dragleave: () => box.classList.remove("over"),
    drop: (event) => {
      event.preventDefault();
      box.classList.remove("over");
      const files = [...(event.dataTransfer?.files ?? [])];
      given(several ? files : files.slice(0, 1));
    },
  });
}
