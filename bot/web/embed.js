// The one script tag of a site that wants the chat on its pages:
// <script src="https://…/web/embed.js" data-district="oxmere" data-position="right" async></script>
(() => {
  const script = document.currentScript;
  if (!script || document.querySelector("lidwise-chat, script[data-lidwise]")) return;
  script.dataset.lidwise = "";
  const base = new URL("..", script.src).href.replace(/\/$/, "");
  const { district = null, position = "right" } = script.dataset;
  const begin = () => import(`${base}/web/widget.js`)
    .then(({ start }) => start({ base, district, left: position === "left" }))
    .catch((error) => {
      console.warn(`lidwise: the chat could not be loaded from ${base} (${error.message}). Is ${location.origin} listed under ` +
        "'webchat: origins' in its settings.yml, and does this page's content security policy allow that address?");
    });
  if (document.body) begin();
  else addEventListener("DOMContentLoaded", begin, { once: true });
})();
