/** Files dropped anywhere on the page, folders included. */

export function acceptDrops(page, take) {
  page.addEventListener("dragover", (event) => {
    if (!event.dataTransfer?.types.includes("Files")) return;
    event.preventDefault();
    page.body.classList.add("dropping");
  });
  page.addEventListener("dragleave", (event) => {
    if (!event.relatedTarget) page.body.classList.remove("dropping");
  });
  page.addEventListener("drop", async (event) => {
    if (!event.dataTransfer?.types.includes("Files")) return;
    event.preventDefault();
    page.body.classList.remove("dropping");
    const files = await filesIn(event.dataTransfer);
    if (files.length) take(files);
  });
}

async function filesIn(transfer) {
  const entries = [...transfer.items].map((item) => item.webkitGetAsEntry?.()).filter(Boolean);
  if (!entries.length) return [...transfer.files];
  return (await Promise.all(entries.map(filesOfEntry))).flat();
}

async function filesOfEntry(entry) {
  if (entry.isFile) return [await new Promise((done, failed) => entry.file(done, failed))];
  const reader = entry.createReader();
  const children = [];
  for (;;) {
    const some = await new Promise((done, failed) => reader.readEntries(done, failed));
    if (!some.length) break;
    children.push(...some);
  }
  return (await Promise.all(children.map(filesOfEntry))).flat();
}
