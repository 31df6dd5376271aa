"""Keep a catalogue: change sets, a store with history, sheets in, findings, previews."""
