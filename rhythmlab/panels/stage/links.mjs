// Links in a note to files that were saved: to where the notebook's server gives them out; where none does, the name alone.
/** Lead each link of a note to its file, which is named as seen from the page. */
export function leadToFiles(note, manager) {
  const resolver = manager?.rendermime?.resolver;
  if (!resolver) return;
  for (const link of note.querySelectorAll("a[data-file]")) {
    resolver
      .resolveUrl(link.dataset.file)
      .then((path) => (!link.dataset.file || path.startsWith("..") ? "" : resolver.getDownloadUrl(path)))
      .then((url) => url && Object.assign(link, { href: url, target: "_blank", rel: "noopener" }))
      .catch(() => {}); // its name is there to be read
  }
}
