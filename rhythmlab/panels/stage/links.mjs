// Links in a note to files: to where the notebook's server gives them out, and pages to where they are opened; where none does, the name alone.
/** Lead each link of a note to its file, which is named as seen from the page. */
export function leadToFiles(note, manager) {
  const { resolver, linkHandler } = manager?.rendermime || {};
  if (!resolver) return;
  for (const link of note.querySelectorAll("a[data-file]")) {
    resolver
      .resolveUrl(link.dataset.file)
      .then((path) => {
        if (!link.dataset.file || path.startsWith("..")) return "";
        if (path.endsWith(".ipynb")) linkHandler?.handleLink(link, decodeURIComponent(path), "");
        return resolver.getDownloadUrl(path);
      })
      .then((url) => url && Object.assign(link, { href: url, target: "_blank", rel: "noopener" }))
      .catch(() => {}); // its name is there to be read
  }
}
