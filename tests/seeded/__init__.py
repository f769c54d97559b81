"""The proof: sound designs by the hundred, mistakes planted in them by the thousand, each of a known size and place."""
