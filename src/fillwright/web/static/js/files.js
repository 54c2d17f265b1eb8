// A form with a file is sent by the browser itself, which shows how far it is. One that is too
// long is told before it goes on its way.

document.addEventListener("submit", (event) => {
  if (event.target.enctype === "multipart/form-data") event.stopPropagation();
}, true);

document.addEventListener("change", (event) => {
  const field = event.target;
  if (field.type !== "file") return;
  const isLong = Array.from(field.files).some((one) => one.size > Number(field.dataset.most));
  field.setCustomValidity(isLong ? field.dataset.long : "");
  if (isLong) field.reportValidity();
});
