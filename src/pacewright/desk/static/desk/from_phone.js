// A log that a pocket page hands over in the address: shown, and kept when somebody says so.
"use strict";
(() => {
  const given = location.hash.replace(/^#log=/, "");
  if (!location.hash.startsWith("#log=")) return;
  let told;
  try {
    const bytes = Uint8Array.from(atob(given.replaceAll("-", "+").replaceAll("_", "/")), (one) => one.charCodeAt(0));
    told = JSON.parse(new TextDecoder().decode(bytes));
  } catch {
    document.getElementById("phone-told").textContent = "What came from the phone is not whole. Go back there and send it once more, or download the log and take it in on the books page.";
    return;
  }
  const form = document.getElementById("phone-log");
  form.phone_id.value = told.id;
  form.text.value = told.text;
  form.hidden = false;
  // The page after this one would inherit the log in its address.
  form.addEventListener("submit", () => history.replaceState(null, "", location.pathname));
  const rows = Math.max(0, told.text.trim().split("\n").filter((line) => !line.startsWith("#")).length - 1);
  document.getElementById("phone-told").textContent = `${rows} rows came. Keep them? Rows that are here already are not taken in twice.`;
})();
