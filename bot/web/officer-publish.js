// A button that copies a text of the Publish page. Without it the text can be marked and copied.

for (const box of document.querySelectorAll(".copy textarea")) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "quiet";
  button.textContent = "Copy";
  const told = document.createElement("span");
  told.setAttribute("role", "status");
  const row = document.createElement("div");
  row.className = "row";
  row.append(button, told);
  box.before(row);
  button.setAttribute("aria-label", `Copy: ${box.labels[0].textContent}`);
  button.addEventListener("click", async () => {
    try {
      await navigator.clipboard.writeText(box.value);
      told.textContent = "Copied.";
    } catch {
      box.select();
      told.textContent = "Marked. Copy it with Ctrl and C.";
    }
  });
}
