// Has the pages of "If it goes wrong" kept on this device, for when there is no network. Says whether they are.
(async () => {
  "use strict";
  const said = document.getElementById("kept-here");
  const isCopy = !document.getElementById("kept-copy").hidden;
  if (isCopy || !("serviceWorker" in navigator)) return;
  try {
    await navigator.serviceWorker.register(document.body.dataset.worker);
    const { active } = await navigator.serviceWorker.ready;
    const links = [...document.querySelectorAll("a[data-keep]")].map((link) => link.href);
    const parts = [...document.querySelectorAll("link[rel=stylesheet], script[src]")].map((one) => one.href || one.src);
    const answer = new MessageChannel();
    answer.port1.onmessage = ({ data }) => {
      if (data.kept) said.textContent = "Kept on this device: opens without the network too.";
    };
    // the list of all sheets names every one that is in force: what it does not name is let go
    active.postMessage({ pages: [location.href.split(/[?#]/)[0], ...links], parts, isList: links.length > 0 }, [answer.port2]);
  } catch {
    // a browser that keeps nothing: the pages work as they are
  }
})();
