// A page that was opened while the desk is down says so; and what a browser can do then differs with its address.
"use strict";
(() => {
  const { kept } = document.documentElement.dataset;
  if (kept) {
    const told = document.createElement("p"), link = document.createElement("a");
    told.className = "notice kept-page";
    told.id = "kept-page";
    told.setAttribute("role", "status");
    const at = new Date(kept), two = (number) => String(number).padStart(2, "0");
    const day = [at.getFullYear(), two(at.getMonth() + 1), two(at.getDate())].join("-");
    const time = document.getElementById("page") ? "" : ", on " + day + " at " + two(at.getHours()) + ":" + two(at.getMinutes());
    told.append("The desk does not answer. This is what this browser saw of it last" + time + ". Once the desk is back, ");
    link.href = location.href;
    link.textContent = "load it again";
    told.append(link, ".");
    document.getElementById("main").before(told);
  }
  const ofNetwork = (isHidden) => { for (const one of document.querySelectorAll("[data-of-network]")) one.hidden = isHidden; };
  ofNetwork(isSecureContext);
  // Whoever leaves the desk leaves nothing behind to be looked at; what was never sent stays.
  for (const form of document.querySelectorAll('form[action="/leave"]')) form.addEventListener("submit", shelf.forgetSeen);
  if (!isSecureContext || !navigator.serviceWorker || !document.querySelector("header nav")) return;
  // A worker that takes a page over while it loads did not bring it, and has not kept it.
  const wasKept = performance.getEntriesByType("navigation")[0]?.workerStart > 0;
  navigator.serviceWorker.register("/worker.js").then(() => navigator.serviceWorker.ready).then((ready) => {
    if (!wasKept) ready.active.postMessage({ keep: location.href });
  }).catch(() => ofNetwork(false));  // A browser that lets no worker in, as with a certificate it does not know, goes on without.
})();
