"""The bulk reading: candump text straight to conversations, with numpy. It comes to the same results as
`recording.reading`, which says what the results are; what it cannot read alike it hands back.

    text         bytes to one row a frame; all that is needed of every frame to tell which lines may carry diagnostics
    reassembly   the frames of those lines to messages; whatever is not regular goes through the state machine
    heads        messages to service, sub-function, identifier, response code
    pairing      answers to their requests
    exchanges    all of it as arrays, and as `Conversation`s made when they are looked at
"""
